"""Which tables a shop may hand out, given all that it handed out before.

What was measured (docs/methods/federation.md): from tables of five instruments the months of most
single ones can be guessed, and the difference of two tables is a table of those by which they
differ. So a table rests on at least `LEAST` instruments, and so does its difference to every
earlier one; where either is under `SHARP`, dates are blurred first. The same instruments as in an
earlier table may be given again. All our choices.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

import msgspec

LEAST = 20
"""Instruments in a table, and in its difference to every earlier one."""
SHARP = 50
"""Instruments from which dates are not blurred."""
BLUR_SD = 6.0
"""Standard deviation of the blur, in months."""
LEAST_MASKED = 5
"""Instruments in a table that enters a sum under masks."""

Kind = Literal["tables", "masked"]


class Given(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What a shop handed out before, kept by it alone.

    Attributes
    ----------
    digest
        Of what was handed out.
    instruments
        Ids and digests of the evidence of the instruments in each feature's table.
    """

    number: int
    kind: Kind
    digest: str
    instruments: dict[str, list[tuple[str, str]]]


def smallest_group(
    instruments: Iterable[tuple[str, str]], earlier: Sequence[Iterable[tuple[str, str]]]
) -> int:
    """Instruments in a table or in its difference to an earlier one, whichever is fewest.

    Parameters
    ----------
    instruments
        Ids, each with the digest of its evidence: one of which more is known now counts as
        another. So that many such hide nobody who came in or left, these are counted alone too.
    """
    present = set(instruments)
    ids = {id_ for id_, _ in present}
    sizes = [len(ids)]
    for one in earlier:
        before = {(id_, digest) for id_, digest in one}
        sizes.append(len(ids ^ {id_ for id_, _ in before}))
        sizes.append(len({id_ for id_, _ in present ^ before}))
    return min((size for size in sizes if size), default=0)


def blur_for(group: int) -> float | None:
    """By how many months dates are blurred where the smallest group has so many; None refuses."""
    if group < LEAST:
        return None
    return 0.0 if group >= SHARP else BLUR_SD
