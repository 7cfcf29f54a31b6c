"""What one row of a chronology alone cannot show: names defined elsewhere, ends in their order.

Anything that would be silently without effect, or wrong, is refused here: a misspelt history class,
an assembly no one defined, a variant that no feature has.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from functools import partial

from heelstamp.catalogue.conversion import nearest
from heelstamp.chronology.contents import Chronology
from heelstamp.chronology.inspection_rows import check_inspections
from heelstamp.chronology.opening_rows import check_openings
from heelstamp.chronology.records import FeatureRow
from heelstamp.chronology.row_reader import RowReader
from heelstamp.errors import InputError
from heelstamp.marks import WrittenOrder
from heelstamp.units import Month

NON_FACTORY = "other"
"""Variant name for anything the factory never fitted; no factory variant may be called so."""


def check_rows(chronology: Chronology, reader: RowReader) -> None:
    """Check the rows against each other.

    Raises
    ------
    InputError
        The first contradiction; names file, line, row and field.
    """
    _check_spans(chronology, reader)
    _check_parts(chronology, reader)
    _check_lots(chronology, reader)
    check_openings(chronology, reader)
    for index, row in enumerate(chronology.features):
        _check_feature(row, index, reader)
    _check_distinct("feature", [(row.id, *row.also) for row in chronology.features], reader)
    _check_distinct("sign", [(row.id,) for row in chronology.signs], reader)
    for index, one in enumerate(chronology.exceptions):
        if chronology.feature(one.feature) is None:
            raise reader.refused("no such feature", "exception", index, "feature", one.feature)
    _check_serial(chronology, reader)
    _check_writings(chronology, reader)
    check_inspections(chronology, reader.refused)


def _check_spans(chronology: Chronology, reader: RowReader) -> None:
    span, grid = chronology.production, chronology.grid
    made = [reader.month(getattr(span, end), "production", None, end) for end in ("first", "last")]
    _in_order(made[0], made[1], "production", "last", reader)
    ends: dict[str, tuple[Month, Month]] = {}
    for key in ("completion", "marks"):
        first, last = (reader.month(end, "grid", None, key) for end in getattr(grid, key))
        _in_order(first, last, "grid", key, reader)
        ends[key] = (first, last)
    if made[0] > ends["completion"][1] or made[1] < ends["completion"][0]:
        raise reader.refused(
            "production lies outside the completion months", "production", None, "first", span.first
        )
    gap = chronology.timing.gap
    if gap.last < gap.first:
        raise reader.refused("the gap ends before it begins", "timing", None, "gap", gap.first)
    if ends["completion"][0] + gap.first < ends["marks"][0]:
        raise reader.refused(
            "the make months begin after the earliest period replacement", "grid", None, "marks"
        )
    volume = chronology.prior.volume
    if not isinstance(volume, str) and (
        not volume or min(volume.values()) < 0 or not 0 < sum(volume.values()) < math.inf
    ):
        raise reader.refused("production cannot be negative", "prior", None, "volume", volume)


def _in_order(first: Month, last: Month, table: str, key: str, reader: RowReader) -> None:
    if last < first:
        raise reader.refused("ends before it begins", table, None, key)


def _check_parts(chronology: Chronology, reader: RowReader) -> None:
    parts = [row.key for row in chronology.parts]
    _check_distinct("part", [(key,) for key in parts], reader)
    anchors = [index for index, row in enumerate(chronology.parts) if row.form == "anchor"]
    if len(anchors) != 1:
        index = anchors[1] if anchors else None
        raise reader.refused("one part, and only one, is the anchor", "part", index, "form")
    named: list[tuple[str, str, int, Iterable[str]]] = []
    named += [("assembly", "parts", i, one.parts) for i, one in enumerate(chronology.assemblies)]
    named += [("batch", "parts", i, one.parts) for i, one in enumerate(chronology.batches)]
    named += [("feature", "parts", i, one.parts) for i, one in enumerate(chronology.features)]
    named += [("sign", "parts", i, one.parts) for i, one in enumerate(chronology.signs)]
    named += [("writing", "part", i, [one.part]) for i, one in enumerate(chronology.writings)]
    for table, key, index, names in named:
        for part in names:
            _known(part, parts, partial(reader.place, table, index, key))
    histories = [row.name for row in chronology.history]
    for index, row in enumerate(chronology.assemblies):
        missing = [name for name in histories if name not in row.disturbed]
        if missing:
            raise reader.refused(
                f"no probability for the history class {missing[0]}", "assembly", index, "disturbed"
            )
        for name in row.disturbed:
            _known(name, histories, partial(reader.place, "assembly", index, "disturbed"))
    assemblies = [row.name for row in chronology.assemblies]
    for index, sign in enumerate(chronology.signs):
        if sign.assembly is not None:
            _known(sign.assembly, assemblies, partial(reader.place, "sign", index, "assembly"))
        elif not sign.seen_on:
            raise reader.refused(
                "a sign names parts, openings or an assembly", "sign", index, "parts"
            )


def _check_lots(chronology: Chronology, reader: RowReader) -> None:
    lags = {row.key: row.lag for row in chronology.parts}
    for index, batch in enumerate(chronology.batches):
        if len(set(batch.parts)) != len(batch.parts) or len(batch.parts) < 2:
            raise reader.refused("a lot has two parts or more, each once", "batch", index, "parts")
        if any(lags[part] != lags[batch.parts[0]] for part in batch.parts):
            raise reader.refused("parts of one lot have one lag", "batch", index, "parts")


def _known(name: str, known: Collection[str], place: Callable[[], str]) -> None:
    if name not in known:
        raise InputError(
            "nothing of this name in this chronology",
            where=place(),
            received=name,
            remedy=nearest(name, known),
        )


def _check_distinct(table: str, names: list[tuple[str, ...]], reader: RowReader) -> None:
    seen: set[str] = set()
    for index, ids in enumerate(names):
        for one in ids:
            if one in seen:
                raise reader.refused("this id is taken", table, index, "id", one)
            seen.add(one)


def _check_feature(row: FeatureRow, index: int, reader: RowReader) -> None:
    expected = 2 if row.passing else len(row.change) + 1
    if len(row.variants) != expected or not (row.change or row.passing):
        raise reader.refused(
            f"{len(row.variants)} variants and {len(row.change)} change-overs do not fit: give "
            "one change-over between two variants, or passing with two variants",
            "feature",
            index,
            "variants",
        )
    if len({*row.variants, NON_FACTORY}) != len(row.variants) + 1:
        raise reader.refused(
            f"variants differ from each other, and none is called {NON_FACTORY}",
            "feature",
            index,
            "variants",
            ", ".join(row.variants),
        )
    if not row.parts or len(set(row.parts)) != len(row.parts):
        raise reader.refused("a feature names its parts, each once", "feature", index, "parts")
    _check_curves(row, index, reader)
    shown = {"when_absent": [row.when_absent] if row.when_absent is not None else []}
    shown["from_serial"] = list((row.from_serial or {}).values())
    if row.from_mark is not None:
        shown["from_mark"] = [row.from_mark.read, row.from_mark.illegible, row.from_mark.absent]
    for key, variants in shown.items():
        for variant in variants:
            _known(
                variant, [*row.variants, NON_FACTORY], partial(reader.place, "feature", index, key)
            )
    if row.from_mark is not None:
        _known(row.from_mark.part, row.parts, partial(reader.place, "feature", index, "from_mark"))
    if row.set_part is not None:
        _known(row.set_part, row.parts, partial(reader.place, "feature", index, "set_part"))


def _check_curves(row: FeatureRow, index: int, reader: RowReader) -> None:
    doubled: Month | None = None  # twice the middle of the change-over before
    for change in row.change:
        ends = [change.first_new, change.last_old]
        new, old = (reader.month(end, "feature", index, "change") for end in ends)
        if doubled is not None and new + old < doubled:
            raise reader.refused("change-overs follow each other", "feature", index, "change")
        doubled = new + old
        if change.learned is not None:
            learned = change.learned
            for month in (learned.first, learned.centre, *learned.centre_90):
                reader.month(month, "feature", index, "change")
    if row.passing is None:
        return
    first = reader.month(row.passing.first, "feature", index, "passing")
    last = reader.month(row.passing.last, "feature", index, "passing")
    _in_order(first, last, "feature", "passing", reader)
    batch = row.passing.learned
    if batch is not None:
        for month in (batch.first, batch.begins, batch.ends):
            reader.month(month, "feature", index, "passing")


def _check_serial(chronology: Chronology, reader: RowReader) -> None:
    table = chronology.serial
    if table is None:
        return
    _known(
        table.part,
        [row.key for row in chronology.parts],
        partial(reader.place, "serial", None, "part"),
    )
    if not table.knot:
        raise reader.refused(
            "a serial curve needs two curve points or more", "serial", None, "knot"
        )
    for knot in table.knot:
        reader.month(knot.month, "serial", None, "knot")
    for low, high in table.duplicated:
        if high < low:
            raise reader.refused("runs backwards", "serial", None, "duplicated", f"{low}, {high}")


def _check_writings(chronology: Chronology, reader: RowReader) -> None:
    for index, row in enumerate(chronology.writings):
        try:
            WrittenOrder.parse(row.order)
        except InputError as error:
            raise error.at(reader.place("writing", index, "order")) from None
        for key in ("first", "last"):
            text = getattr(row, key)
            if text is not None:
                reader.month(text, "writing", index, key)
