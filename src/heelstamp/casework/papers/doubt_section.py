"""From a doubt finding to the section *What does not fit, and what the answer hangs on*.

Takes the finding in its JSON form. The order is that of a reader's questions: what sits badly with
the rest and the two accounts of it, what is unexplained, what the date hangs on, how far the range
moves when a table is changed, and what then is said in other words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.feature_names import FeatureNames, heading, observation_name, part_label
from heelstamp.casework.papers.document_rows import ChangeRow
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.units import Period, name_month, parse_month
from heelstamp.wording import Grounds, Statement, about_doubts, about_unsettled
from heelstamp.wording.about_dates import SURPRISING
from heelstamp.wording.about_doubts import Account, PairTold
from heelstamp.wording.about_parts import state_clause
from heelstamp.wording.sentences import listed


@dataclass(frozen=True, slots=True)
class Stories:
    """A conflict told side by side, for a screen.

    Attributes
    ----------
    matter
        What does not fit.
    first, second
        The two accounts, the one that is told first in the sentence first.
    odds
        Which is likelier, and by how much, in words.
    deciding
        What would tell them apart; empty where nothing that is left would.
    """

    matter: str
    first: Account
    second: Account
    odds: str
    deciding: str


@dataclass(frozen=True, slots=True)
class DoubtSection:
    """Everything a report says of doubts, the rows of its table, and its conflicts side by side."""

    statements: tuple[Statement, ...]
    changes: tuple[ChangeRow, ...]
    stories: tuple[Stories, ...] = ()


def doubt_section(
    state: DossierState,
    tree: PartsTree,
    names: FeatureNames,
    finding: Mapping[str, Any],
    doubts: Mapping[str, Any],
) -> DoubtSection:
    """Build the section; the full version, not yet cut to a reader.

    Parameters
    ----------
    finding, doubts
        JSON forms of the date finding and of the doubt finding of one state.
    """
    writer = _Writer(state, tree, names, finding)
    told = [
        *writer.conflicts(doubts["conflicts"]),
        *writer.pairs(doubts["pairs"]),
        *writer.wear(doubts["wear"]),
        *writer.agreement(doubts["agreement"], len(doubts["wear"]["unexplained"])),
        *writer.hangs_on(doubts["hangs_on"]),
        *writer.sensitivity(doubts["sensitivity"]),
    ]
    return DoubtSection(
        tuple(told), writer.changes(doubts["sensitivity"]), writer.stories(doubts["conflicts"])
    )


class _Writer:
    def __init__(
        self, state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
    ) -> None:
        self.state, self.tree, self.names = state, tree, names
        self.used = [
            id_
            for id_, one in finding["observations"].items()
            if one.get("used", True) and id_ in state.observations
        ]
        self.all = self.grounds(self.used) if self.used else Grounds((), (), ("the whole",))

    def grounds(self, ids: Sequence[str]) -> Grounds:
        """Observations with their frames."""
        known = [self.state.observations[id_] for id_ in ids if id_ in self.state.observations]
        frames = dict.fromkeys(frame for one in known for frame in one.frames)
        gaps = () if known else ("the whole instrument",)
        return Grounds(tuple(one.id for one in known), tuple(frames), gaps)

    def name(self, id_: str) -> str:
        """Name an observation."""
        seen = self.state.observations.get(id_)
        return id_ if seen is None else observation_name(seen, self.tree, self.names)

    def conflicts(self, found: Sequence[Mapping[str, Any]]) -> list[Statement]:
        """Tell each conflict with both accounts."""
        if not found:
            return [about_doubts.nothing_quarrels("doubt:none", self.all)]
        return [
            about_doubts.two_stories(
                f"doubt:conflict-{number}",
                self.grounds(self._of_parts(one)),
                matter=self._matter(one),
                mid_p=one["surprise"],
                first=self._account(one["first"], one["observations"]),
                second=self._account(one["second"], one["observations"]),
                odds=one["odds"],
                likelihood_ratio=one["likelihood_ratio"],
                others=one["others"],
                deciding=self._deciding(one["deciding"]),
            )
            for number, one in enumerate(found, start=1)
        ]

    def stories(self, found: Sequence[Mapping[str, Any]]) -> tuple[Stories, ...]:
        """Lay the two accounts of each conflict side by side."""
        return tuple(
            Stories(
                listed(self._matter(one)),
                self._account(one["first"], one["observations"]),
                self._account(one["second"], one["observations"]),
                about_doubts.likelier(one["odds"]),
                self._deciding(one["deciding"]),
            )
            for one in found
        )

    def _matter(self, one: Mapping[str, Any]) -> list[str]:
        """Name the observations that surprise, or else the parts that raised the question."""
        surprise = one["surprise"]
        if surprise is not None and surprise < SURPRISING:
            return [self.name(id_) for id_ in one["observations"]]
        return [f"what was seen on the {part_label(self.tree, part)}" for part in one["parts"]]

    def _of_parts(self, one: Mapping[str, Any]) -> list[str]:
        """The observations in question, then all others used on the same parts."""
        parts = set(one["parts"])
        others = [id_ for id_ in self.used if self.state.observations[id_].part in parts]
        return list(dict.fromkeys([*one["observations"], *others]))

    def _account(self, story: Mapping[str, Any], asked: Sequence[str]) -> Account:
        states, mistaken = story["states"], story["mistaken"]
        says = [state_clause(part_label(self.tree, part), one) for part, one in states.items()]
        for id_ in asked:
            verdict = "mistaken" if id_ in mistaken else "right"
            says.append(f"the reading of {self.name(id_)} is {verdict}")
        return Account(listed(says), story["prior"], Period.parse(list(story["interval"]["90"])))

    def _deciding(self, found: Sequence[Mapping[str, Any]]) -> str:
        """Name the best, and the next one if it tells a tenth as much or more."""
        told = []
        for one in found[:2]:
            if one["share"] >= found[0]["share"] / 10:
                again = f"a second, blind look at {self.name(one['inspection'])}"
                told.append(again if one["again"] else one["inspection"])
        return listed(told, "or")

    def pairs(self, found: Sequence[Mapping[str, Any]]) -> list[Statement]:
        """Tell neighbours that disagree in age, with every account of them."""
        return [
            about_doubts.neighbours_apart(
                f"doubt:pair-{number}",
                self.grounds(
                    [
                        one.id
                        for one in self.state.observations.values()
                        if one.kind == "mark" and one.part in (pair["older"], pair["younger"])
                    ]
                ),
                older=part_label(self.tree, pair["older"]),
                younger=part_label(self.tree, pair["younger"]),
                months=pair["months"],
                accounts=[
                    PairTold(
                        one["older_built"],
                        one["younger_built"],
                        one["probability"],
                        Period.parse(list(one["interval"]["90"])),
                    )
                    for one in pair["accounts"]
                ],
            )
            for number, pair in enumerate(found, start=1)
        ]

    def wear(self, worn: Mapping[str, Any]) -> list[Statement]:
        """Tell what is unexplained, and on how many pairs wear goes together."""
        told = [
            about_doubts.unexplained(
                f"doubt:unexplained-{number}",
                self.grounds(one["observations"]),
                mismatch=one["mismatch"],
                ordinary=one["ordinary"],
            )
            for number, one in enumerate(worn["unexplained"], start=1)
        ]
        good = [one for one in worn["pairs"] if one["fit"] in ("fits", "accounted for")]
        if good:
            seen = {part for one in good for part in one["parts"]}
            ids = [
                one.id
                for one in self.state.observations.values()
                if one.sign == "wear" and one.part in seen and one.is_read
            ]
            accounts = dict.fromkeys(self._accounted(one["account"]) for one in good)
            told.append(
                about_doubts.wear_goes_together(
                    "doubt:wear",
                    self.grounds(ids),
                    pairs=len(good),
                    accounted=[one for one in accounts if one],
                )
            )
        return told

    def _accounted(self, account: str) -> str:
        part, _, why = account.partition(": ")
        return f"{part_label(self.tree, part)} {why}" if why else ""

    def agreement(self, close: Mapping[str, Any] | None, unexplained: int) -> list[Statement]:
        """Tell close agreement, only ever beside something unexplained."""
        if close is None or not unexplained:
            return []
        marks = [
            one.id
            for one in self.state.observations.values()
            if one.kind == "mark" and one.part in close["parts"]
        ]
        return [
            about_doubts.close_agreement(
                "doubt:agreement",
                self.grounds(marks),
                parts=[part_label(self.tree, part) for part in close["parts"]],
                spread=close["spread"],
                at_most=close["at_most"],
                unexplained_above=unexplained,
            )
        ]

    def hangs_on(self, found: Sequence[Mapping[str, Any]]) -> list[Statement]:
        """Tell the part that the date hangs on most."""
        return [
            about_doubts.hangs_on(
                "doubt:hangs-on",
                self.grounds(
                    [id_ for id_ in self.used if self.state.observations[id_].part == one["part"]]
                ),
                part=part_label(self.tree, one["part"]),
                interval_90=Period.parse(list(one["interval"]["90"])),
                middle=parse_month(one["median"]),
                months=one["months"],
            )
            for one in found[:1]
        ]

    def sensitivity(self, varied: Mapping[str, Any]) -> list[Statement]:
        """Tell how far the range moves, and what turns over."""
        turned: Mapping[str, Any] = varied["unsettled"]
        subjects = [self._bare(key) for key, one in turned.items() if not one["holds"]]
        lower = [self._bare(key) for key, one in turned.items() if one["holds"]]
        parts = {key.removeprefix("part:") for key in varied["unsettled"]}
        seen = [id_ for id_ in self.used if self.state.observations[id_].part in parts]
        grounds = self.grounds(seen) if seen else self.all
        told = [
            about_unsettled.range_of_ranges(
                "doubt:range",
                self.all,
                count=len(varied["rows"]),
                lower=Period.parse(list(varied["lower"])),
                upper=Period.parse(list(varied["upper"])),
                likeliest=Period.parse(list(varied["likeliest"])),
                least=None if varied["date"] is None else varied["date"][0],
            )
        ]
        if subjects:
            told.append(about_unsettled.turns_over("doubt:settled", grounds, subjects=subjects))
        if lower:
            told.append(about_unsettled.lower_words("doubt:lower", grounds, subjects=lower))
        if not turned:
            told.append(about_unsettled.settled("doubt:settled", grounds))
        return told

    def _bare(self, key: str) -> str:
        """Name what a statement is about, without article."""
        return self.subject(key).removeprefix("the ")

    def subject(self, key: str) -> str:
        """Name what a statement is about: 'the guard', 'the date', 'the mark … on the neck'."""
        kind, _, rest = key.partition(":")
        if kind == "part":
            return f"the {part_label(self.tree, rest)}"
        return self.name(rest) if kind == "reading" else "the date"

    def changes(self, varied: Mapping[str, Any]) -> tuple[ChangeRow, ...]:
        """One row a changed table."""
        return tuple(
            ChangeRow(
                heading(about_unsettled.assumption_words(row["assumption"], row["factor"])),
                str(Period.parse(list(row["interval"]["90"]))),
                name_month(parse_month(row["median"])),
                listed([self._bare(key) for key in row["turned"]]),
            )
            for row in varied["rows"]
        )
