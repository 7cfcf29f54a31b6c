"""The screens of a dossier in the order of the work, and their addresses."""

from __future__ import annotations

from typing import NamedTuple


class Screen(NamedTuple):
    """One screen: the last word of its address, its name, and the question it asks."""

    key: str
    name: str
    asks: str


SCREENS: tuple[Screen, ...] = (
    Screen("door", "Door", "Who hands it over, and may we open it?"),
    Screen("frames", "Frames", "What is missing, before the chance is gone?"),
    Screen("first-look", "First Look", "What do you see, nothing touched?"),
    Screen("peel", "Peel", "Next layer? Here is the gain and the risk."),
    Screen("tray", "Tray", "One picture, tap each screw."),
    Screen("marks", "Marks", "What does it say, and what else could it say?"),
    Screen("lamp", "Lamp", "Does the coat glow alike, and where does it not?"),
    Screen("touch", "Touch", "What did you do to it?"),
    Screen("tune", "Tune", "What was it, what shall it be, what is it now?"),
    Screen("weigh-up", "Weigh-up", "What does it all say, and what does not fit?"),
    Screen("words", "Words", "Which sentence stands on which frame?"),
    Screen("money", "Money", "What is it worth, and to whom?"),
    Screen("papers", "Papers", "Who reads it?"),
    Screen("counter", "Counter", "What does the buyer ask?"),
    Screen("return", "Return", "Is this what left?"),
)


def screen_path(tag: str, key: str) -> str:
    """Give the address of a screen."""
    return f"/dossier/{tag}/{key}"
