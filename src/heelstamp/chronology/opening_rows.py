"""What the openings of a chronology may name, checked against its other rows, each with its line.

A chronology says in one of two forms what could have been changed: openings with ways to each part,
or, in short, assemblies that are disturbed as a whole.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from functools import partial

from heelstamp.catalogue.conversion import nearest
from heelstamp.chronology.contents import Chronology
from heelstamp.chronology.records import ByHistory, PlacesTable
from heelstamp.chronology.row_reader import RowReader
from heelstamp.errors import InputError

SET_STATES = ("period_replacement", "later_replacement", "from_another_instrument")
"""What the source of a whole swap can be."""

_SUM_TOLERANCE = 1e-6


def check_openings(chronology: Chronology, reader: RowReader) -> None:
    """Check openings, sets, ways to parts, and signs and places that speak of them.

    Raises
    ------
    InputError
        Both forms or none; a name that nothing has, a share that does not fit; names file, line,
        row and field.
    """
    if bool(chronology.openings) == bool(chronology.assemblies):
        raise reader.refused(
            "a chronology has openings, or in short assemblies, one of the two",
            "assembly" if chronology.openings else "",
            0 if chronology.openings else None,
            None,
        )
    if not chronology.openings:
        _check_short(chronology, reader)
        return
    _Openings(chronology, reader).check()


class _Openings:
    """The checks of the form with openings."""

    def __init__(self, chronology: Chronology, reader: RowReader) -> None:
        self.chronology, self.reader = chronology, reader
        self.parts = [row.key for row in chronology.parts]
        self.names = [row.name for row in chronology.openings]
        self.histories = [row.name for row in chronology.history]

    def check(self) -> None:
        place = self.reader.place
        for index, row in enumerate(self.chronology.openings):
            if row.name in self.names[:index]:
                raise self.reader.refused(
                    "this opening is listed twice", "opening", index, "name", row.name
                )
            at = partial(place, "opening", index)
            self._check_ways(row.needs, partial(at, "needs"))
            self._check_names(row.along, self.names, partial(at, "along"))
            self._check_shares(row.p, "opening", index)
        self._check_sets()
        for index, part in enumerate(self.chronology.parts):
            self._check_part(index, part.form, [one.path for one in part.levels])
            for level in part.levels:
                if abs(sum(level.p) - 1) > _SUM_TOLERANCE:
                    raise self.reader.refused(
                        "probabilities do not add to one", "part", index, "levels", sum(level.p)
                    )
        self._check_names(
            self.chronology.prior.foreign_opens,
            self.names,
            partial(place, "prior", None, "foreign_opens"),
        )
        for index, sign in enumerate(self.chronology.signs):
            at = partial(place, "sign", index)
            self._check_names(sign.openings, self.parts, partial(at, "openings"))
            self._check_names(sign.openings.values(), self.names, partial(at, "openings"))
            self._check_names(sign.count, sign.openings, partial(at, "count"))
            if sign.openings and sign.parts:
                raise self.reader.refused(
                    "a sign speaks of parts or of openings, one of the two",
                    "sign",
                    index,
                    "openings",
                )
            if sign.openings and len(sign.table) != 3:
                raise self.reader.refused(
                    "a sign of openings needs three rows: closed, opened, opened by a careful hand",
                    "sign",
                    index,
                    "table",
                )
        if self.chronology.places is not None:
            self._check_places(self.chronology.places)

    def _check_sets(self) -> None:
        sets = self.chronology.sets
        for index, row in enumerate(sets):
            at = partial(self.reader.place, "set", index)
            if row.name in [one.name for one in sets[:index]]:
                raise self.reader.refused(
                    "this set is listed twice", "set", index, "name", row.name
                )
            self._check_names(row.parts, self.parts, partial(at, "parts"))
            if len(set(row.parts)) != len(row.parts):
                raise self.reader.refused("a set names its parts, each once", "set", index, "parts")
            self._check_ways(row.needs, partial(at, "needs"))
            self._check_names(row.source, SET_STATES, partial(at, "source"))
            self._check_shares(row.p, "set", index)
            if abs(sum(row.source.values()) - 1) > _SUM_TOLERANCE:
                raise self.reader.refused(
                    "the shares of the sources do not add to one", "set", index, "source"
                )
            forms = {one.key: one.form for one in self.chronology.parts}
            other = [one for one in row.parts if forms[one] != "part"]
            if other:
                raise self.reader.refused(
                    "this part is not swapped with a set", "set", index, "parts", other[0]
                )
            for batch in self.chronology.batches:
                inside = set(batch.parts) & set(row.parts)
                if 0 < len(inside) < len(batch.parts):
                    raise self.reader.refused(
                        "a lot lies partly inside this set: name all of its parts, or none",
                        "set",
                        index,
                        "parts",
                        ", ".join(batch.parts),
                    )

    def _check_part(self, index: int, form: str, paths: list[list[list[str]]]) -> None:
        row = self.chronology.parts[index]
        if row.undisturbed is not None or row.disturbed is not None:
            raise self.reader.refused(
                "this chronology has openings: give levels, not the tables of an assembly",
                "part",
                index,
                "disturbed" if row.disturbed is not None else "undisturbed",
            )
        if form == "anchor" and paths:
            raise self.reader.refused(
                "the anchor is the instrument: no way leads to another one", "part", index, "levels"
            )
        at = partial(self.reader.place, "part", index, "levels")
        for path in paths:
            self._check_ways(path, at)

    def _check_places(self, places: PlacesTable) -> None:
        at = partial(self.reader.place, "places", None)
        finishes = [row.key for row in self.chronology.parts if row.form == "finish"]
        self._check_names([places.part], finishes, partial(at, "part"))
        signs = {row.id: row for row in self.chronology.signs}
        self._check_names(places.instead, signs, partial(at, "instead"))
        for sign, outcome in places.instead.items():
            self._check_names([outcome], signs[sign].outcomes, partial(at, "instead"))
        if places.sign in signs:
            raise self.reader.refused(
                "this sign has a table of its own already", "places", None, "sign", places.sign
            )

    def _check_ways(self, ways: list[list[str]], place: Callable[[], str]) -> None:
        for way in ways:
            if not way:
                raise InputError(
                    "a way names at least one opening",
                    where=place(),
                    remedy="Leave the list out where nothing is needed.",
                )
            self._check_names(way, self.names, place)

    def _check_names(
        self, named: Iterable[str], known: Collection[str], place: Callable[[], str]
    ) -> None:
        for name in named:
            if name not in known:
                raise InputError(
                    "nothing of this name in this chronology",
                    where=place(),
                    received=name,
                    remedy=nearest(name, known),
                )

    def _check_shares(self, p: ByHistory, table: str, index: int) -> None:
        if not isinstance(p, Mapping):
            return
        missing = [name for name in self.histories if name not in p]
        if missing:
            raise self.reader.refused(
                f"no probability for the history class {missing[0]}", table, index, "p"
            )
        self._check_names(p, self.histories, partial(self.reader.place, table, index, "p"))


def _check_short(chronology: Chronology, reader: RowReader) -> None:
    """Refuse what speaks of openings in a chronology that has none."""
    if chronology.sets:
        raise reader.refused("a set needs openings", "set", 0, None)
    for index, part in enumerate(chronology.parts):
        if part.levels:
            raise reader.refused("levels need openings", "part", index, "levels")
    for index, sign in enumerate(chronology.signs):
        if sign.openings:
            raise reader.refused("no such opening", "sign", index, "openings")
    if chronology.places is not None:
        raise reader.refused("places need openings", "places", None, None)
    if chronology.prior.foreign_opens:
        raise reader.refused("no such opening", "prior", None, "foreign_opens")
