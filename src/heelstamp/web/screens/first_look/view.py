"""What First look shows: the drawing, the parts, and the questions of one part."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from heelstamp.casework.doubtful_number import LIKELY, Doubtful, doubtful
from heelstamp.casework.first_look import OTHERWISE, Question, questions_of
from heelstamp.casework.mark_reading import hidden_marks
from heelstamp.chronology import Chronology, SerialCurve
from heelstamp.reference.market import load_market
from heelstamp.shop.subjects import Subject
from heelstamp.web.rendering import drawn
from heelstamp.web.screens.first_look.drawing import touch_drawing
from heelstamp.web.screens.first_look.zones import counts, zones


def _doubtful(asked: Sequence[Question], chronology: Chronology) -> tuple[Doubtful, ...]:
    """What may be doubted of the serial number, where one stands."""
    curve = SerialCurve.of(chronology)
    number = next((one.standing for one in asked if one.kind == "serial"), None)
    return () if curve is None or number is None or not number.is_read else doubtful(number, curve)


def look_view(subject: Subject, part: str, hand: str) -> dict[str, Any]:
    """Lay out the drawing with the parts of an instrument, and the questions of *part*."""
    state, tree, chronology = subject.state, subject.tree, subject.chronology
    alterations = load_market().sign
    found = zones(state, tree, chronology)
    pieces = touch_drawing(state.instrument.kind, found, subject.name, part)
    asked = questions_of(state, tree, chronology, part, alterations) if part else ()
    return {
        "zones": found,
        "counts": counts(found),
        "chosen": part and tree.part(part),
        "questions": asked,
        "doubtful": _doubtful(asked, chronology),
        "likely": LIKELY,
        "otherwise": OTHERWISE,
        "openings": {one.key: one.label for one in tree.openings},
        "blind": hidden_marks(state, hand),
        "pieces": [drawn(one) for one in pieces],
    }
