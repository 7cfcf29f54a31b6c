"""The screens of a dossier in the order of the work, and their addresses."""

from __future__ import annotations

from typing import NamedTuple


class Screen(NamedTuple):
    """One screen: the last word of its address, its name, and the question it asks."""

    key: str
    name: str
    asks: str


SCREENS: tuple[Screen, ...] = (
    Screen("intake", "Intake", "Who hands it over, and may we open it?"),
    Screen("photographs", "Photographs", "What is missing, before the chance is gone?"),
    Screen("first-look", "First look", "What do you see, nothing touched?"),
    Screen("next-look", "Next look", "Next layer? Here is the gain and the risk."),
    Screen("screws", "Screws", "One picture, tap each screw."),
    Screen("marks", "Marks", "What does it say, and what else could it say?"),
    Screen("uv-lamp", "UV lamp", "Does the coat glow alike, and where does it not?"),
    Screen("work", "Work", "What did you do to it?"),
    Screen("setup", "Setup", "What was it, what shall it be, what is it now?"),
    Screen("findings", "Findings", "What does it all say, and what does not fit?"),
    Screen("wording", "Wording", "Which sentence stands on which frame?"),
    Screen("money", "Money", "What is it worth, and to whom?"),
    Screen("reports", "Reports", "Who reads it?"),
    Screen("questions", "Questions", "What does the buyer ask?"),
    Screen("return-check", "Return check", "Is this what left?"),
)


def screen_path(tag: str, key: str) -> str:
    """Give the address of a screen."""
    return f"/dossier/{tag}/{key}"
