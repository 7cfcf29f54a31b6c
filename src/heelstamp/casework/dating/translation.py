"""From observations of a dossier to evidence of the dating engine, each kept with its origin.

Nothing is dropped in silence: an observation that does not enter the dating says why. An
observation may show more than it says: a serial's prefix, a pot's source code and a mark that is
absent are features too, and leave with the observation they come from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.casework.dating.mark_reading import read_mark, source_code_of
from heelstamp.casework.dating.opening_looks import OpeningLooks
from heelstamp.casework.dating.own_acts import late_looks
from heelstamp.casework.dating.same_fact import fuller, numbers_read, same_mark, same_number
from heelstamp.casework.dating.translated import Translated, entry_named
from heelstamp.catalogue import DossierState, Observation
from heelstamp.catalogue.conversion import nearest
from heelstamp.chronology import Chronology, SerialCurve, feature_on, sign_on
from heelstamp.chronology.cross_checks import NON_FACTORY
from heelstamp.chronology.records import FeatureRow, SignRow
from heelstamp.chronology.tables import STATES_OF
from heelstamp.dating import Document, FeatureSeen, Mark, SerialNumber, SignSeen, StateLikelihood
from heelstamp.dating import Reading as EngineReading
from heelstamp.errors import HeelstampError, InputError
from heelstamp.marks import MarkContext
from heelstamp.units import Period, parse_month

MARK_ERROR = 0.01
"""Share of marks read as something they are not (our choice)."""

MOST_MARKS = 20
"""Marks on one part beyond which the entries are taken for a mistake."""

DOCUMENT_RELIABILITY = 0.8
"""Reliability of a paper that names the serial when the entry gives none (our choice)."""


def translate_dossier(
    state: DossierState, chronology: Chronology, context: MarkContext
) -> list[Translated]:
    """Translate all that was seen on the instrument of a dossier; see `translate`."""
    return translate(
        list(state.observations.values()), chronology, context, late_looks(state, chronology)
    )


def translate(
    observations: list[Observation],
    chronology: Chronology,
    context: MarkContext,
    late: Mapping[str, str] | None = None,
) -> list[Translated]:
    """Translate all observations of one instrument.

    Parameters
    ----------
    late
        Looks at openings from after the shop's own act, by id, with the words of that act.

    Raises
    ------
    InputError
        A known feature has no such variant, a known sign no such outcome, a month cannot be, or
        two observations of one feature on one part disagree; names the observation.
    """
    translator = _Translator(chronology, context, late or {})
    for seen in observations:
        try:
            translator.take(seen)
        except HeelstampError as error:
            raise error.at(f'observation "{seen.id}"') from None
    translator.add_what_follows()
    translator.count_lots_once()
    translator.looks.count_openings_once()
    translator.looks.count_places(translator.done, STATES_OF["finish"])
    return translator.done


class _Translator:
    def __init__(
        self, chronology: Chronology, context: MarkContext, late: Mapping[str, str]
    ) -> None:
        self.chronology, self.context = chronology, context
        self.looks = OpeningLooks(chronology, late)
        self.curve = SerialCurve.of(chronology)
        self.parts = {row.key for row in chronology.parts}
        self.forms = {row.key: row.form for row in chronology.parts}
        self.serial: Translated | None = None
        self.signs: dict[str, tuple[str, str]] = {}  # model name: outcome, id of observation
        self.done: list[Translated] = []
        self.features: dict[str, tuple[str, str]] = {}  # model name: variant, id of observation
        self.lots: dict[str, list[tuple[Translated, FeatureRow, str, str]]] = {}

    def take(self, seen: Observation) -> None:
        found = Translated(seen)
        self.done.append(found)
        if seen.kind == "feature" and seen.status == "absent":
            self._take_absent(found)
        elif not seen.is_read:
            found.why_not = _STATUS_REASON[seen.status]
        elif seen.part not in self.parts and seen.kind != "feature":
            found.why_not = f"the chronology does not date the {seen.part.replace('_', ' ')}"
        else:
            getattr(self, f"_take_{seen.kind}")(found)

    def _take_mark(self, found: Translated) -> None:
        marks = sum(one.mark is not None and one.seen.part == found.seen.part for one in self.done)
        if marks >= MOST_MARKS:
            raise InputError(
                f"more than {MOST_MARKS} marks on the {found.seen.part.replace('_', ' ')}",
                remedy="Enter each mark once.",
            )
        found.mark = read_mark(found.seen, self.chronology, self.context)
        before = self._same_mark(found)
        if before is not None:
            found.why_not = f"the same mark as {entry_named(before.seen.id)}, counted once"
            if before.mark is not None and before.mark.readings != found.mark.readings:
                there = entry_named(before.seen.id)
                found.why_not += f"; read otherwise there, and counted as read in {there}"
            return
        usable = [one for one in found.mark.readings if one.evidence]
        if not usable:
            found.why_not = found.mark.why_not or "no rule gives it a date"
            return
        largest = max(1.0, sum(one.weight for one in usable))
        readings = tuple(EngineReading(one.period, one.weight / largest) for one in usable)
        together = self.chronology.timing.marks_together
        found.evidence.append(Mark(found.seen.part, readings, MARK_ERROR, together=together))

    def _same_mark(self, found: Translated) -> Translated | None:
        """The entry before that is of the same mark."""
        assert found.mark is not None
        for one in self.done:
            if one is found:
                return None
            if one.mark is not None and same_mark(found.seen, found.mark, one.seen, one.mark):
                return one
        return None

    def _take_feature(self, found: Translated) -> None:
        seen = found.seen
        row = self.chronology.feature(seen.feature or "")
        part = None if row is None else _seat(row, seen.part)
        if row is None:
            found.why_not = f"the chronology does not know the feature {seen.feature}"
        elif part is None:
            found.why_not = f"the chronology does not know {row.name} on this part"
        else:
            self._add_feature(found, row, part, seen.variant or "")

    def _take_absent(self, found: Translated) -> None:
        """Take a feature that was looked for and absent, where absence is a variant."""
        row = self.chronology.feature(found.seen.feature or "")
        part = None if row is None else _seat(row, found.seen.part)
        if row is None or part is None or row.when_absent is None:
            found.why_not = _STATUS_REASON["absent"]
        else:
            self._add_feature(found, row, part, row.when_absent)

    def _add_feature(self, found: Translated, row: FeatureRow, part: str, variant: str) -> None:
        known = (*row.variants, NON_FACTORY)
        if variant not in known:
            raise InputError(
                f"the feature {row.id} ({row.name}) has no such variant",
                where="field variant",
                received=variant,
                remedy=nearest(variant, known),
            )
        name = feature_on(row, part)
        before = self.features.get(name)
        if before is None:
            self.features[name] = (variant, found.seen.id)
            if row.one_lot:
                self.lots.setdefault(row.id, []).append((found, row, part, variant))
            else:
                found.evidence.append(FeatureSeen(name, variant))
        elif before[0] != variant:
            raise InputError(
                f"two observations of the feature {row.id} on {part} disagree",
                received=f"{variant}; {before[0]} in {before[1]}",
                remedy="Look again and correct or withdraw one of them.",
            )
        elif before[1] != found.seen.id and not found.evidence:
            found.why_not = f"the same fact as {entry_named(before[1])}, counted once"

    def _take_serial(self, found: Translated) -> None:
        if self.curve is None:
            found.why_not = "the chronology has no serial numbers"
            return
        seen, before = found.seen, self.serial
        try:
            number = number_evidence(self.curve, numbers_read(seen))
        except InputError as error:
            if seen.part == self.serial_part:
                raise
            found.why_not = f"{error.what}; {self._serial_place} is the one that dates"
            return
        if before is None:
            self._count_serial(found, number)
            return
        same = same_number(seen, before.seen)
        if not same and seen.part == before.seen.part:
            raise InputError(
                "an instrument has one serial number in one place",
                received=f"{told_number(seen)}; {told_number(before.seen)} in {before.seen.id}",
                remedy="Withdraw one of the two by a correction, or enter both as readings of one.",
            )
        leads = seen.part == self.serial_part != before.seen.part
        if leads or (same and seen.part == before.seen.part and fuller(seen, before.seen)):
            before.evidence.clear()
            self._count_serial(found, number)
            found, before = before, found
        found.why_not = (
            f"the same number as {entry_named(before.seen.id)}, counted once"
            if same
            else f"contradicts {entry_named(before.seen.id)}: {told_number(found.seen)} here, "
            f"{told_number(before.seen)} there; {self._serial_place} is the one that dates"
        )

    def _compare_number(self, found: Translated) -> None:
        """Say where a number on a part that is not dated contradicts the one that dates."""
        number = self.serial
        if found.seen.kind != "serial" or not found.seen.is_read or number is None:
            return
        if not same_number(found.seen, number.seen):
            found.why_not = (
                f"{found.why_not}; it contradicts {entry_named(number.seen.id)}: "
                f"{told_number(found.seen)} here, {told_number(number.seen)} there"
            )

    def _count_serial(self, found: Translated, number: SerialNumber) -> None:
        self.serial = found
        found.evidence.append(number)

    @property
    def serial_part(self) -> str:
        """The part on which the maker put the number."""
        return "" if self.chronology.serial is None else self.chronology.serial.part

    @property
    def _serial_place(self) -> str:
        return f"the number on the {self.serial_part.replace('_', ' ')}"

    def _take_sign(self, found: Translated) -> None:
        seen = found.seen
        if seen.likelihoods:
            states = STATES_OF[self.forms[seen.part]]
            for state in seen.likelihoods:
                if state not in states:
                    raise InputError(
                        f"the {seen.part.replace('_', ' ')} has no such state",
                        where="field likelihoods",
                        received=state,
                        remedy=nearest(state, states),
                    )
            found.evidence.append(StateLikelihood(seen.part, dict(seen.likelihoods)))
            return
        places = self.chronology.places
        if places is not None and (seen.sign, seen.part) == (places.sign, places.part):
            self.looks.take_place(found)
            return
        row = self.chronology.sign(seen.sign or "")
        if row is not None and seen.part in row.openings:
            self.looks.take(found, row)
            return
        if row is None:
            found.why_not = "recorded as seen; the chronology gives this sign no weight"
            return
        if seen.outcome not in row.outcomes:
            raise InputError(
                f"the sign {row.id} ({row.name}) has no such outcome",
                where="field outcome",
                received=seen.outcome,
                remedy=nearest(seen.outcome, row.outcomes),
            )
        name, outcome = self._sign_name(row, seen.part), seen.outcome or ""
        if name is None:
            found.why_not = f"the chronology does not weigh {row.name} on this part"
            return
        before = self.signs.setdefault(f"{name} {seen.part}", (outcome, seen.id))
        if before == (outcome, seen.id):
            found.evidence.append(SignSeen(name, outcome))
        elif before[0] == outcome:
            found.why_not = f"the same fact as {entry_named(before[1])}, counted once"
        else:
            raise InputError(
                f"two observations of the sign {row.id} on {seen.part} disagree",
                received=f"{outcome}; {before[0]} in {before[1]}",
                remedy="Look again and correct or withdraw one of them.",
            )

    def _sign_name(self, row: SignRow, part: str) -> str | None:
        if row.assembly is None:
            return sign_on(row, part) if part in row.parts else None
        home = next((one for one in self.chronology.assemblies if one.name == row.assembly), None)
        return row.id if home is not None and part in home.parts else None

    def _take_document(self, found: Translated) -> None:
        seen = found.seen
        if seen.link != "names serial":
            found.why_not = "nothing ties the paper to this instrument: its number is not on it"
            return
        grid = self.chronology.completion
        first = parse_month(seen.not_before) if seen.not_before else grid.first
        last = parse_month(seen.not_after) if seen.not_after else grid.last
        reliability = DOCUMENT_RELIABILITY if seen.reliability is None else seen.reliability
        if not 0 < reliability < 1:
            found.why_not = "a paper is neither worthless nor beyond doubt: give a share between"
            return
        found.evidence.append(Document(Period(first, last), reliability))

    def add_what_follows(self) -> None:
        """Add features shown by observations of other kinds, unless they were entered."""
        for found in self.done:
            seen = found.seen
            if seen.part not in self.parts:
                self._compare_number(found)
                continue
            for row in self.chronology.features:
                variant = _shown(row, found)
                if variant is None or seen.part not in row.parts:
                    continue
                if feature_on(row, seen.part) not in self.features:
                    self._add_feature(found, row, seen.part, variant)
                    found.why_not = None

    def count_lots_once(self) -> None:
        """Count equal variants of parts from one lot once: five equal tuners are one fact."""
        for pending in self.lots.values():
            by_variant: dict[str, list[tuple[Translated, FeatureRow, str, str]]] = {}
            for one in pending:
                by_variant.setdefault(one[3], []).append(one)
            for variant, members in by_variant.items():
                if len(by_variant) > 1 and members is min(by_variant.values(), key=len):
                    parts = [part for _, row, part, _ in pending if part != row.set_part]
                    self.looks.mixed(members[0][0], parts)
                first, row, part, _ = members[0]
                whole = [one for one in row.parts if one != row.set_part]
                if row.set_part is not None and 2 * len(members) > len(whole):
                    part = row.set_part
                    for found, *_ in members:
                        found.of_set = part
                first.evidence.append(FeatureSeen(feature_on(row, part), variant))
                for found, *_ in members[1:]:
                    if not found.evidence:
                        found.why_not = (
                            f"of one lot with {entry_named(first.seen.id)}, counted once"
                        )


def told_number(seen: Observation) -> str:
    """A serial number as it was read, each reading of it."""
    return " or ".join(text for text, _ in numbers_read(seen))


def number_evidence(curve: SerialCurve, read: Sequence[tuple[str, float]]) -> SerialNumber:
    """What a serial number, read as one text or several, says of the month.

    Raises
    ------
    InputError
        Not a number of a known prefix, or too many digits unread.
    """
    months: dict[int, float] = {}
    for text, share in read:
        for month, weight in curve.months(text):
            months[month] = months.get(month, 0.0) + weight * share
    largest = max(1.0, *months.values())
    return SerialNumber(tuple((month, weight / largest) for month, weight in months.items()))


def _seat(row: FeatureRow, part: str) -> str | None:
    """The part that a feature speaks of: its only one, or the one it was seen on."""
    if len(row.parts) == 1:
        return row.parts[0]
    return part if part in row.parts else None


def _shown(row: FeatureRow, found: Translated) -> str | None:
    """The variant of *row* that an observation of another kind shows, if any."""
    seen = found.seen
    if row.from_mark is not None and seen.kind == "mark" and seen.part == row.from_mark.part:
        return getattr(row.from_mark, seen.status, None)
    if row.from_serial is not None and seen.kind == "serial" and found.evidence:
        prefixes = {text.upper().rstrip("0123456789? .-") for text, _ in numbers_read(seen)}
        return row.from_serial.get(prefixes.pop()) if len(prefixes) == 1 else None
    if row.from_source_code and found.mark is not None:
        code = source_code_of(found.mark)
        return code if code in row.variants else (NON_FACTORY if code else None)
    return None


_STATUS_REASON = {
    "not looked": "not looked at",
    "absent": "looked for and absent",
    "illegible": "looked at and illegible",
    "not applicable": "not applicable to this instrument",
}
