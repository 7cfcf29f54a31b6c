"""How ``show`` prints what concerns photographs: gaps of the plan, the lamp."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from heelstamp.cli.exits import Exit
from heelstamp.cli.output import bullet, emit, heading, say, table

if TYPE_CHECKING:
    from heelstamp.casework.lamp import LampLog
    from heelstamp.casework.photo_plan import Missing

WHEN = (
    ("now", "Missing, and can be taken now"),
    ("later", "Later, when that is open"),
    ("too late", "Not taken in time: not looked"),
)


def show_photos(missing: Sequence[Missing], before: str | None, *, as_json: bool) -> int:
    """Print what the photo plan misses; exit 1 when *before* would end a chance."""
    if as_json:
        emit([_data(one) for one in missing])
    elif before is not None:
        word = "Nothing is missing" if not missing else f"{len(missing)} to take first"
        say(f"{word} before: {before}.")
        _rows(missing)
    else:
        for when, title in WHEN:
            chosen = [one for one in missing if one.when == when]
            if chosen:
                heading(title)
                _rows(chosen)
        if not missing:
            say("The photo plan is complete.")
    return Exit.FINDINGS if before is not None and missing else Exit.DONE


def show_lamp(log: LampLog, *, as_json: bool) -> int:
    """Print the lamp log; exit 1 when a day is over the limit."""
    if as_json:
        emit(log.data())
    else:
        for sentence in log.sentences:
            bullet(sentence)
    return Exit.FINDINGS if any(one.dose.over for one in log.days) else Exit.DONE


def _rows(missing: Sequence[Missing]) -> None:
    if missing:
        table(
            [
                (
                    one.slot.id,
                    f"{one.have} of {one.slot.frames}",
                    one.slot.light,
                    " or ".join(one.slot.ends),
                    f"{one.slot.label}; lost then: {one.slot.lost}",
                )
                for one in missing
            ],
            ("slot", "frames", "light", "before", "what"),
        )


def _data(one: Missing) -> dict[str, Any]:
    return {
        "slot": one.slot.id,
        "label": one.slot.label,
        "when": one.when,
        "have": one.have,
        "frames": one.slot.frames,
        "light": one.slot.light,
        "part": one.slot.part,
        "ends": list(one.slot.ends),
        "lost": one.slot.lost,
    }
