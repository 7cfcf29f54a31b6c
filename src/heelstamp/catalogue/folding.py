"""A dossier's journal folded, entry by entry, into the state it leaves; pure.

Nothing is edited. A correction replaces what an entry says, or withdraws it; the entry and every
earlier correction stay in the history. Rules:

1. The first entry, and no other, is the instrument's.
2. Ids are unique within a dossier, over all kinds.
3. A reference names something entered before and not withdrawn.
4. A replacement is of the kind of what it replaces and keeps its id; a part is one of the tree.
5. Of several corrections of one entry the last that stands counts. To correct a correction is to
   put another replacement in its place; to withdraw it is to undo it.
6. Custody and sale follow their tables at every moment, also after a correction.
7. An act that needs the owner's leave is not recorded as done without it.
8. What has a field or a kind of its own is not entered in words.

An entry of form 1 is read through `heelstamp.catalogue.form1`; one that cannot be converted is kept
as it is, and stops nothing else.

The digests are not looked at here; `heelstamp.archive.chain` verifies them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from heelstamp.catalogue.bodies.condition import Condition
from heelstamp.catalogue.bodies.intake import Consent, Contents, Custody, Instrument, Statement
from heelstamp.catalogue.bodies.measurement import Measurement
from heelstamp.catalogue.bodies.media import Photograph, Recording
from heelstamp.catalogue.bodies.observation import Observation
from heelstamp.catalogue.bodies.report import Decision, Question, Unconverted
from heelstamp.catalogue.bodies.sale import SaleStep
from heelstamp.catalogue.bodies.work import Screw, Treatment, WorkPlan
from heelstamp.catalogue.consent import require_leave
from heelstamp.catalogue.conversion import join_place, nearest
from heelstamp.catalogue.corrections import Corrections
from heelstamp.catalogue.custody import NOT_RECEIVED, next_state
from heelstamp.catalogue.entries import (
    INSTRUMENT_ID,
    Body,
    Correction,
    Said,
    body_id,
    kind_of,
    parse_body,
    references,
)
from heelstamp.catalogue.form1 import convert_form1
from heelstamp.catalogue.form1.refused import refuse_words
from heelstamp.catalogue.journal import Entry
from heelstamp.catalogue.parts import PartsTree
from heelstamp.catalogue.sale import sale_of
from heelstamp.catalogue.state import Dangling, DossierState, Entered
from heelstamp.errors import ConflictError, InputError

B = TypeVar("B", bound=Said)
_EVIDENCE = (Photograph, Recording, Measurement, Observation)
_REFERRED: dict[str, tuple[type[Body], ...]] = {
    "frames": (Photograph,),
    "frame": (Photograph,),
    "before": _EVIDENCE,
    "after": _EVIDENCE,
    "heard.recordings": (Recording,),
    "visible": (Photograph,),
    "uv": (Photograph,),
    "left": (Photograph,),
    "returned": (Photograph,),
    "look": (Observation,),
    "same_as": (Condition,),
    "question": (Question,),
}
_MAPPED = (
    Instrument,
    Observation,
    Measurement,
    Treatment,
    Photograph,
    Recording,
    Consent,
    Custody,
    Contents,
    Statement,
    Decision,
    Screw,
    Unconverted,
)
CHANGING = ("clean", "adjust", "fit", "mend")
"""Sorts of act that leave the instrument other than it was."""
_REFERRED_1 = frozenset({"frames", "frame", "before", "after"})
"""References that form 1 had as fields."""


class Folding:
    """The fold, one entry at a time; `state` may be asked for after any of them.

    Parameters
    ----------
    tree
        Parts tree of the instrument's kind; without one, part names are not checked.
    """

    def __init__(self, tree: PartsTree | None = None) -> None:
        self._tree = tree
        self._guarded_acts = tree.acts_needing_consent() if tree is not None else frozenset()
        self._said = Corrections()
        self._entered: dict[str, Entered] = {}
        self._written: dict[str, str] = {}
        self._length = 0
        self._head = ""

    def add(
        self,
        kind: str,
        data: object,
        *,
        at: str = "",
        by: str = "",
        digest: str = "",
        form: int = 2,
        kept: bool = False,
        where: str,
    ) -> Said:
        """Take one entry in; nothing changes when it is refused.

        Parameters
        ----------
        form
            Of the entry: 1 is read through the converter.
        kept
            It stands in a journal already: its text is taken as it is.

        Raises
        ------
        InputError
            The body cannot be read, an id is taken or unknown, a part is unknown.
        ConflictError
            Custody cannot pass so, or the owner's leave is wanting.
        """
        body = self._read(kind, data, form, where, kept=kept)
        self._check_place(body, where)
        self._check_id(body, where)
        self._check_part(body, where)
        self._check_references(body, form, where)
        if isinstance(body, Treatment) and (
            body.act in self._guarded_acts or self._outside_plan(body)
        ):
            require_leave(body.act, self._live(Consent).values(), where=where)
        replacement = None
        if isinstance(body, Correction):
            replacement = self._replacement(body, form, where, kept=kept)
        entered = Entered(self._length + 1, at, by)
        self._said.add(body, replacement, entered.seq, at, by)
        try:
            aimed = self._said.original(self._said.root(body_id(body)))
            if isinstance(aimed, Custody):
                self._custody_state(where)
            elif isinstance(aimed, SaleStep):
                sale_of(self._live(SaleStep).values(), where=where)
        except (ConflictError, InputError):
            self._said.remove_last()
            raise
        self._entered[body_id(body)] = entered
        self._written[body_id(body)] = kind
        self._length += 1
        self._head = digest
        return body

    def enter(
        self, kind: str, data: object, *, at: str = "", by: str = "", digest: str = "", where: str
    ) -> Said:
        """Take a new entry in; raises as `add` does, and refuses words that have fields."""
        replaced = data.get("replacement") if isinstance(data, Mapping) else None
        if kind == "correction" and isinstance(replaced, Mapping):
            aimed = str(data.get("corrects")) if isinstance(data, Mapping) else ""
            if aimed in self._entered:
                original = self._said.original(self._said.root(aimed))
                if not isinstance(original, Unconverted):
                    data_ = {"id": aimed, **replaced}
                    refuse_words(kind_of(original), data_, join_place(where, "replacement"))
        else:
            refuse_words(kind, data, where)
        return self.add(kind, data, at=at, by=by, digest=digest, where=where)

    def add_entry(self, entry: Entry, *, where: str) -> Said:
        """Take an entry of a journal in; raises as `add` does."""
        return self.add(
            entry.kind,
            entry.body,
            at=entry.at,
            by=entry.by,
            digest=entry.digest,
            form=entry.form,
            kept=True,
            where=where,
        )

    @property
    def tree(self) -> PartsTree | None:
        """Parts tree that parts are checked with."""
        return self._tree

    def _read(self, kind: str, data: object, form: int, where: str, *, kept: bool) -> Said:
        if form == 1:
            return convert_form1(kind, data, where=where, kept=kept)
        return parse_body(kind, data, where=where, kept=kept)

    @property
    def state(self) -> DossierState:
        """Everything that stands now.

        Raises
        ------
        InputError
            Nothing was entered yet.
        """
        live = dict(self._said.standing())
        by_kind: dict[type, dict[str, Any]] = {kind: {} for kind in _MAPPED}
        for id_, body in live.items():
            by_kind.setdefault(type(body), {})[id_] = body
        if not by_kind[Instrument]:
            raise InputError("an empty journal has no instrument", remedy="Enter it first.")
        return DossierState(
            instrument=next(iter(by_kind[Instrument].values())),
            observations=by_kind[Observation],
            measurements=by_kind[Measurement],
            treatments=by_kind[Treatment],
            photographs=by_kind[Photograph],
            recordings=by_kind[Recording],
            consents=by_kind[Consent],
            custody=by_kind[Custody],
            contents=by_kind[Contents],
            statements=by_kind[Statement],
            decisions=by_kind[Decision],
            screws=by_kind[Screw],
            others={kind: ones for kind, ones in by_kind.items() if kind not in _MAPPED},
            unconverted=by_kind[Unconverted],
            corrections=self._said.corrections(),
            history=self._said.history(),
            entered=dict(self._entered),
            custody_state=self._custody_state(""),
            dangling=_dangling(live),
            length=self._length,
            head=self._head,
        )

    def _live(self, kind: type[B]) -> dict[str, B]:
        return {id_: body for id_, body in self._said.standing() if isinstance(body, kind)}

    def _custody_state(self, where: str) -> str:
        state = NOT_RECEIVED
        for id_, passed in self._live(Custody).items():
            state = next_state(state, passed.event, where=join_place(where, f'custody "{id_}"'))
        return state

    def _check_place(self, body: Said, where: str) -> None:
        if isinstance(body, Instrument) != (self._length == 0):
            raise InputError(
                "the instrument's entry is the first, and the only one of its kind",
                where=where,
                remedy="Open the dossier with it; change it later by a correction of "
                f'"{INSTRUMENT_ID}".',
            )
        tree = self._tree
        if isinstance(body, Instrument) and tree is not None and body.kind != tree.kind:
            raise InputError(
                f"the parts tree is that of a {tree.kind}",
                where=join_place(where, "field kind"),
                received=body.kind,
                remedy="Give the parts tree of the instrument's kind.",
            )

    def _check_id(self, body: Said, where: str) -> None:
        id_ = body_id(body)
        if id_ in self._entered or (id_ == INSTRUMENT_ID and not isinstance(body, Instrument)):
            raise InputError(
                "this id is taken",
                where=join_place(where, "field id"),
                received=id_,
                remedy="Give another id, or enter a correction of it.",
            )

    def _check_part(self, body: Said, where: str) -> None:
        part = getattr(body, "part", None)
        if part is not None and self._tree is not None:
            self._tree.part(part, where=join_place(where, "field part"))

    def _outside_plan(self, body: Treatment) -> bool:
        """Whether the owner signed a plan of work, and this act changes the instrument.

        Closing what was opened is no change; opening has its consents by the parts tree.
        """
        return bool(self._live(WorkPlan)) and body.sort in (None, *CHANGING)

    def _check_references(self, body: Said, form: int, where: str) -> None:
        if isinstance(body, Unconverted):
            return
        for field, names in references(body).items():
            if form == 1 and field not in _REFERRED_1:
                continue  # words of form 1 were not held against what they named
            kinds = (*_REFERRED[field], Unconverted)
            for number, name in enumerate(names):
                standing = self._said.standing_of(name)
                if isinstance(standing, kinds):
                    continue
                known = [id_ for id_, other in self._said.standing() if isinstance(other, kinds)]
                raise InputError(
                    "the reference is unknown or withdrawn"
                    if standing is None
                    else "the reference is to something of another kind",
                    where=join_place(where, f"field {field}[{number}]"),
                    received=name,
                    remedy=nearest(name, known) if known else "Enter what it names first.",
                )

    def _replacement(self, body: Correction, form: int, where: str, *, kept: bool) -> Said | None:
        if body.corrects not in self._entered:
            raise InputError(
                "the correction is of something unknown",
                where=join_place(where, "field corrects"),
                received=body.corrects,
                remedy=nearest(body.corrects, self._entered),
            )
        root = self._said.root(body.corrects)
        original = self._said.original(root)
        if body.replacement is None:
            if body.corrects == INSTRUMENT_ID:
                raise InputError(
                    "the instrument's entry cannot be withdrawn",
                    where=join_place(where, "field replacement"),
                    remedy="Give a replacement.",
                )
            return None
        place = join_place(where, "field replacement")
        data = dict(body.replacement)
        if root != INSTRUMENT_ID and data.setdefault("id", root) != root:
            raise InputError(
                f'a replacement keeps the id "{root}"',
                where=join_place(place, "field id"),
                received=data["id"],
                remedy="Leave id out, or repeat it.",
            )
        kind = self._kind_to_replace(root, form, place)
        replacement = self._read(kind, data, form, place, kept=kept)
        self._check_part(replacement, place)
        self._check_references(replacement, form, place)
        if isinstance(replacement, Instrument) and isinstance(original, Instrument):
            _check_same_dossier(replacement, original, place)
        return replacement

    def _kind_to_replace(self, root: str, form: int, where: str) -> str:
        """Name the kind of a replacement: as it was written in form 1, else that of today."""
        if form == 1:
            return self._written[root]
        original = self._said.original(root)
        if isinstance(original, Unconverted):
            raise InputError(
                "an entry that could not be converted is not replaced",
                where=where,
                received=f"{original.kind} {root}",
                remedy="Withdraw it, and enter it anew in the fields of today.",
            )
        return kind_of(original)


def _check_same_dossier(replacement: Instrument, original: Instrument, where: str) -> None:
    for field in ("kind", "tag"):
        if getattr(replacement, field) != getattr(original, field):
            raise InputError(
                f"a correction cannot change the instrument's {field}",
                where=join_place(where, f"field {field}"),
                received=getattr(replacement, field),
                remedy="Open another dossier.",
            )


def place_of(kind: str, data: object, seq: int) -> str:
    """Name an entry for a reader: ``entry 5 (observation "o3")``."""
    id_ = data.get("id") if isinstance(data, Mapping) else None
    return f'entry {seq} ({kind} "{id_}")' if id_ is not None else f"entry {seq} ({kind})"


def fold(entries: Iterable[Entry], tree: PartsTree | None = None) -> DossierState:
    """Fold a journal into the state it leaves.

    Parameters
    ----------
    entries
        In order of the chain.
    tree
        Parts tree of the instrument's kind; without one, part names are not checked.

    Raises
    ------
    InputError
        An entry breaks one of the rules above; the message names entry and field.
    ConflictError
        Custody or the owner's leave does not allow it.
    """
    folding = Folding(tree)
    for number, entry in enumerate(entries, start=1):
        where = place_of(entry.kind, entry.body, entry.seq)
        if entry.seq != number:
            raise InputError(
                f"entry {number} expected here",
                where=where,
                received=entry.seq,
                remedy="Fold the whole journal, in order.",
            )
        folding.add_entry(entry, where=where)
    return folding.state


def _dangling(standing: Mapping[str, Said]) -> tuple[Dangling, ...]:
    return tuple(
        Dangling(id_, field, name)
        for id_, body in standing.items()
        if not isinstance(body, Unconverted)
        for field, names in references(body).items()
        for name in names
        if name not in standing
    )
