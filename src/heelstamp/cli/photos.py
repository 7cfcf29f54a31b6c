"""How ``add`` and ``show`` print what concerns photographs: care, gaps of the plan, the lamp."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heelstamp.cli.exits import Exit
from heelstamp.cli.output import bullet, emit, heading, say, table
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.photo_care import PhotoCare
    from heelstamp.casework.photo_plan import Missing

WHEN = (
    ("now", "Missing, and can be taken now"),
    ("later", "Later, when that is open"),
    ("too late", "Not taken in time: not looked"),
)


def care_for(
    kind: str | None, file: Path | None, body: dict[str, Any], grey_row: str | None
) -> PhotoCare | None:
    """Give the care of a photograph about to be added; None for anything else."""
    if kind != "photograph" or file is None:
        if grey_row is not None:
            raise InputError(
                "only a photograph has a grey row", where="--grey-row", remedy="Leave it out."
            )
        return None
    from heelstamp.casework.finish import read_numbers
    from heelstamp.shop.photo_desk import care_of_photograph
    from heelstamp.shop.subjects import read_file

    row = grey_row and read_numbers(grey_row, "x0,y0,x1,y1,PATCHES", "--grey-row")
    return care_of_photograph(read_file(file), file.name, body, grey_row=row or None)


def show_photos(tag: str, shop: Path, before: str | None, *, as_json: bool) -> int:
    """Print what the photo plan misses; exit 1 when *before* would end a chance."""
    from heelstamp.shop.photo_desk import missing_of

    missing = missing_of(tag, shop, before=before)
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


def show_lamp(tag: str, shop: Path, *, as_json: bool) -> int:
    """Print the lamp log; exit 1 when a day is over the limit."""
    from heelstamp.shop.photo_desk import lamp_of

    log = lamp_of(tag, shop)
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
