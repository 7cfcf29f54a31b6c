"""What a dossier holds on openings: screws counted, joints, tape, odd parts of a set, lamp places.

An opening is judged once by each kind of sign: of several looks, as at the leads' two ends, the one
that speaks most for it counts, since one heated joint is enough. Screws go by their number where
they were counted. Odd parts of one lot show that a set was not swapped whole. Places that differ
under the lamp speak of the finish together, in place of the one word for its whole look.
"""

from __future__ import annotations

from collections.abc import Mapping

from heelstamp.casework.dating.translated import Translated, entry_named
from heelstamp.catalogue import Observation
from heelstamp.catalogue.conversion import nearest
from heelstamp.chronology import Chronology, sign_on
from heelstamp.chronology.records import SignRow
from heelstamp.dating import MixedSet, Screws, ScrewsSeen, SignSeen, StateLikelihood, touched_weight
from heelstamp.dating import Observation as Evidence
from heelstamp.dating.finish_places import TOUCHED
from heelstamp.errors import InputError

MIXED_SET = 0.03
"""P(two variants of a one-lot feature in a set | it was swapped whole): judgement."""


class OpeningLooks:
    """Gathers looks at openings and lamp places while a dossier is translated.

    Parameters
    ----------
    late
        Observations that came after the shop's own act, with the words of that act.
    """

    def __init__(self, chronology: Chronology, late: Mapping[str, str]) -> None:
        self.chronology, self.late = chronology, late
        self.looks: dict[str, list[tuple[Translated, SignRow, Evidence]]] = {}
        self.seen_on: dict[tuple[str, str], Observation] = {}
        self.places: list[Translated] = []

    def take(self, found: Translated, row: SignRow) -> None:
        """Take a look at an opening.

        Raises
        ------
        InputError
            Two looks of one sign at one part disagree, or there is no such outcome.
        """
        seen = found.seen
        opening = row.openings[seen.part]
        if seen.outcome is not None and seen.outcome not in row.outcomes:
            raise InputError(
                f"the sign {row.id} ({row.name}) has no such outcome",
                where="field outcome",
                received=seen.outcome,
                remedy=nearest(seen.outcome, row.outcomes),
            )
        if seen.id in self.late:
            found.why_not = (
                f"entered after the shop's own act ({self.late[seen.id]}): its own traces are no "
                "evidence"
            )
            return
        evidence: Evidence
        if row.count and seen.judged is not None:
            if seen.judged == 0:
                found.why_not = "no screw could be judged"
                return
            evidence = ScrewsSeen(opening, seen.judged, seen.turned or 0)
        else:
            evidence = SignSeen(sign_on(row, seen.part), seen.outcome or "")
        before = self.seen_on.setdefault((row.id, seen.part), seen)
        if before is not seen and _told(before) != _told(seen):
            raise InputError(
                f"two observations of the sign {row.id} on {seen.part} disagree",
                received=f"{_told(seen)}; {_told(before)} in {before.id}",
                remedy="Look again and correct or withdraw one of them.",
            )
        self.looks.setdefault(f"{row.id} {opening}", []).append((found, row, evidence))

    def count_openings_once(self) -> None:
        """Let each kind of sign speak of an opening once: as the look that speaks most for it."""
        for looks in self.looks.values():
            chosen = max(looks, key=lambda one: self._speaks_for(one[1], one[2]))
            first = chosen[0]
            first.evidence.append(chosen[2])
            for found, *_ in looks:
                if found is not first:
                    same = found.seen.part == first.seen.part
                    what = "the same fact as" if same else "of the same opening as"
                    found.why_not = f"{what} {entry_named(first.seen.id)}, counted once"

    def _speaks_for(self, row: SignRow, evidence: Evidence) -> float:
        """P(look | opened) / P(look | closed)."""
        if isinstance(evidence, ScrewsSeen):
            table = self.chronology.screws
            screws = Screws(table.tightened, table.shown, table.false, table.error)
            closed, opened, _ = screws.likelihood(evidence.count, evidence.turned)
        else:
            assert isinstance(evidence, SignSeen)
            column = row.outcomes.index(evidence.outcome)
            closed, opened = (
                (1 - row.error) * line[column] + row.error / len(row.outcomes)
                for line in row.table[:2]
            )
        return opened / closed

    def mixed(self, found: Translated, parts: list[str]) -> None:
        """Take that the members *parts* of one lot differ, *found* the odd one."""
        for row in self.chronology.sets:
            if set(parts) <= set(row.parts):
                found.evidence.append(MixedSet(row.name, MIXED_SET))

    def take_place(self, found: Translated) -> None:
        """Take one place that looks different under the lamp."""
        places = self.chronology.places
        assert places is not None
        if found.seen.outcome not in places.ratio:
            found.why_not = "recorded as seen; the chronology gives this look no weight"
        else:
            self.places.append(found)

    def count_places(self, done: list[Translated], states: tuple[str, ...]) -> None:
        """Let all places speak of the finish together, once, and nothing that says the same.

        Places of a face whose pair was judged by the program, with likelihoods of its own, are
        the same look and count through that.
        """
        places = self.chronology.places
        if places is None or not self.places:
            return
        judged = [one for one in done if one.seen.likelihoods and one.seen.part == places.part]
        counted = []
        for found in self.places:
            through = next((one for one in judged if shares_frame(one.seen, found.seen)), None)
            if through is None:
                counted.append(found)
            else:
                found.why_not = f"the same look as {entry_named(through.seen.id)}, counted once"
        if not counted:
            return
        for one in counted:
            one.ratio = places.ratio[one.seen.outcome or ""]
        weight = touched_weight([one.ratio for one in counted if one.ratio], places.share)
        largest = max(1.0, weight)
        counted[0].evidence.append(
            StateLikelihood(
                places.part,
                {name: (weight if name == TOUCHED else 1.0) / largest for name in states},
            )
        )
        for found in counted[1:]:
            found.why_not = f"weighed together with {entry_named(counted[0].seen.id)}"
        for one in done:
            said = one.seen.sign in places.instead and one.evidence
            if said and places.instead[one.seen.sign or ""] == one.seen.outcome:
                one.evidence.clear()
                one.why_not = f"the places, from {entry_named(counted[0].seen.id)} on, say the same"


def shares_frame(one: Observation, other: Observation) -> bool:
    """Whether two observations rest on one frame."""
    return bool(set(one.frames) & set(other.frames))


def _told(seen: Observation) -> str:
    if seen.judged is not None:
        return f"{seen.turned} of {seen.judged} turned"
    return seen.outcome or ""
