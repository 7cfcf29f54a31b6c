"""What each role may enter and see, by kind of entry: one table, whatever way an entry comes.

What a role may enter it may correct, take back and put back; nothing else. The table is looked at
where entries are sealed (`heelstamp.casework.dossier`), so pages, the JSON API, taking back and
putting back are held to it alike, and the table of addresses (`heelstamp.web.permits`) takes its
roles from here. A kind that the table does not name is the owner's alone, to enter and to see.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple, Self

from heelstamp.casework.sharing.accounts import Role
from heelstamp.catalogue import DossierState, Photograph, Unconverted, kind_of
from heelstamp.catalogue.corrections import Version
from heelstamp.catalogue.entries import Said
from heelstamp.errors import ConflictError


class NotPermittedError(ConflictError):
    """Who is signed in may not do that; an account of another role may."""


class Right(NamedTuple):
    """Least roles that may enter a kind of entry, and see it."""

    enter: Role
    see: Role


BENCH = Right(Role.PAIRED_DEVICE, Role.READER)
"""What is seen, measured and done at the bench, and answered there."""
SHOPS_WORD = Right(Role.OWNER, Role.READER)
"""What binds the shop, and holds no sum."""
EXAMINERS = Right(Role.EXAMINER, Role.READER)
"""What outsiders may see."""
SUM = Right(Role.OWNER, Role.EXAMINER)
"""What holds a sum, or may hold one."""
COUNTER = Right(Role.EXAMINER, Role.EXAMINER)
"""What is agreed and paid at the counter; `casework.sale` keeps some steps to the owner."""
UNNAMED = Right(Role.OWNER, Role.OWNER)

RIGHTS: Mapping[str, Right] = {
    "instrument": BENCH,
    "observation": BENCH,
    "measurement": BENCH,
    "treatment": BENCH,
    "exposure": BENCH,
    "photograph": BENCH,
    "picture_box": EXAMINERS,  # taking one back shows what it hides
    "picture_scale": BENCH,
    "recording": BENCH,
    "consent": BENCH,
    "custody": BENCH,
    "contents": BENCH,
    "statement": BENCH,
    "screw": BENCH,
    "clock": BENCH,
    "string_set": BENCH,
    "pair_marks": BENCH,
    "region": BENCH,
    "border": BENCH,
    "wording": BENCH,
    "question": BENCH,
    "return_verdict": BENCH,
    "condition": BENCH,
    "face_looked": BENCH,
    "difference_look": BENCH,
    "work_plan": SUM,
    "grade": Right(Role.EXAMINER, Role.READER),
    "colour": SHOPS_WORD,
    "case_included": SHOPS_WORD,
    "changed_parts": SHOPS_WORD,
    "title_search": SHOPS_WORD,
    "title_note": SHOPS_WORD,
    "near_number": SHOPS_WORD,
    "material": SHOPS_WORD,
    "materials_looked": SHOPS_WORD,
    "paper": SHOPS_WORD,
    "issue": SHOPS_WORD,
    "later_known": SHOPS_WORD,
    "owner": COUNTER,
    "sale": COUNTER,
    "tax": SUM,
    "enquiry": COUNTER,
    "packing": COUNTER,
    "transit_log": COUNTER,
    "price": SUM,
    "terms": SUM,
    "agreement": SUM,
    "decision": SUM,
}
"""A correction has no row: it has the right of what it corrects."""

PUBLISHES = Role.EXAMINER
"""Least role that may let outsiders see a frame which was private, or read a person's words."""


class Hand(str):
    """The name that signs an entry, with the role of who signs.

    A plain name is a hand at the machine itself, which may do everything.
    """

    __slots__ = ("role",)
    role: Role

    def __new__(cls, name: str, role: Role) -> Self:
        """Join a name and a role."""
        made = super().__new__(cls, name)
        made.role = role
        return made


def role_of(hand: str) -> Role:
    """Role of a hand: the owner's where it is a plain name."""
    return hand.role if isinstance(hand, Hand) else Role.OWNER


def right_of(kind: str) -> Right:
    """Look up who may enter and see an entry that is no correction."""
    return RIGHTS.get(kind, UNNAMED)


def right_to(versions: tuple[Version, ...]) -> Right:
    """Look up who may change and see an entry, by everything that was ever said in its place."""
    rights = [right_of(_kind(one.body)) for one in versions if one.body is not None]
    return Right(
        max((one.enter for one in rights), key=_rank, default=Role.OWNER),
        max((one.see for one in rights), key=_rank, default=Role.OWNER),
    )


def may_change(hand: str, versions: tuple[Version, ...]) -> bool:
    """Whether *hand* may correct, take back and put back an entry."""
    return role_of(hand).may(right_to(versions).enter)


def hidden_from(role: Role, state: DossierState) -> frozenset[str]:
    """Ids of entries, and of corrections of them, that *role* may not see."""
    return frozenset(
        one.entry
        for versions in state.history.values()
        if not role.may(right_to(versions).see)
        for one in versions
    )


def require_rights(hand: str, before: DossierState | None, after: DossierState) -> None:
    """Refuse new entries that *hand* may not make.

    Parameters
    ----------
    before, after
        The dossier without them, None where they open it, and with them.

    Raises
    ------
    NotPermittedError
        A kind of entry that the role may not enter, a change of one, a private frame made public,
        or words marked for outsiders.
    """
    length = 0 if before is None else before.length
    for id_, versions in after.history.items():
        if all(one.seq <= length for one in versions):
            continue
        if not may_change(hand, versions):
            raise _refused(hand, id_, right_to(versions).enter)
        if (
            not role_of(hand).may(PUBLISHES)
            and _marked(versions)
            and not _marked_before(versions, length)
        ):
            raise _refused(hand, id_, PUBLISHES)
        shown = after.photographs.get(id_)
        if shown is None or shown.private or role_of(hand).may(PUBLISHES):
            continue
        stood = None if before is None else before.photographs.get(id_)
        was_private = any(isinstance(one.body, Photograph) and one.body.private for one in versions)
        if was_private and (stood is None or stood.private):
            raise _refused(hand, id_, PUBLISHES)


def _marked(versions: tuple[Version, ...]) -> bool:
    """Whether what stands of an entry carries its words to outsiders."""
    return any(one.stands and getattr(one.body, "public", False) for one in versions)


def _marked_before(versions: tuple[Version, ...], length: int) -> bool:
    """Whether an examiner marked it in the entries before."""
    return any(one.seq <= length and getattr(one.body, "public", False) for one in versions)


def _refused(hand: str, id_: str, least: Role) -> NotPermittedError:
    return NotPermittedError(
        "this account may not do that",
        where=id_,
        received=f"{hand}, {role_of(hand).value}",
        remedy=f"It takes the role {least.value}.",
    )


def _kind(body: Said) -> str:
    return "" if isinstance(body, Unconverted) else kind_of(body)


def _rank(role: Role) -> int:
    return role.rank
