"""How ``show --odd`` prints odd ones in sets of parts, with the rate of the census."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heelstamp.cli.exits import Exit
from heelstamp.cli.output import bullet, emit, say

if TYPE_CHECKING:
    from heelstamp.shop.odd_parts import OddTold


def show_odd(found: Sequence[OddTold], *, as_json: bool) -> int:
    """Print each set; exit 1 where one holds an odd one, 3 where none was looked over."""
    if as_json:
        emit(
            [
                {
                    "set": one.set.key,
                    "part": one.set.part,
                    "looked_at": one.set.looked,
                    "odd": [{"member": name, "like": like} for name, like in one.set.odd],
                    "usual": one.set.usual,
                    "census": {"odd": one.rate.odd, "of": one.rate.of},
                    "share_90": [round(one.rate.low, 4), round(one.rate.high, 4)],
                    "materiality": one.materiality,
                    "said": list(one.said),
                }
                for one in found
            ]
        )
    else:
        for one in found:
            for sentence in one.said:
                bullet(sentence)
        if not found:
            say("No set of parts was looked over: three of its members at least.")
    if not found:
        return Exit.UNDECIDED
    return Exit.FINDINGS if any(one.set.odd for one in found) else Exit.DONE
