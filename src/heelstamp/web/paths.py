"""The pages of a dossier: the instrument's own, and five groups in the order of the work."""

from __future__ import annotations

from typing import NamedTuple


class Screen(NamedTuple):
    """One screen: the last word of its address, its name, and the question it asks."""

    key: str
    name: str
    asks: str


class Group(NamedTuple):
    """Screens of one stage of the work; pressing its name leads to the first."""

    name: str
    screens: tuple[Screen, ...]


GROUPS: tuple[Group, ...] = (
    Group(
        "Intake",
        (
            Screen("intake", "Intake", "Who hands it over, and may we open it?"),
            Screen("photographs", "Photographs", "What is missing, before the chance is gone?"),
        ),
    ),
    Group(
        "Examine",
        (
            Screen("first-look", "First look", "What do you see, nothing touched?"),
            Screen("condition", "Condition", "Where is it not whole, and since when?"),
            Screen("marks", "Marks", "What does it say, and what else could it say?"),
            Screen("uv-lamp", "UV lamp", "Does the finish glow alike, and where does it not?"),
            Screen("screws", "Screws", "One picture, tap each screw."),
            Screen("next-look", "Next look", "What to look at next: the gain and the risk."),
        ),
    ),
    Group(
        "Findings",
        (
            Screen("findings", "Findings", "What does it all say, and what does not fit?"),
            Screen("wording", "Wording", "Which sentence stands on which photograph?"),
        ),
    ),
    Group(
        "Work",
        (
            Screen("work", "Work", "What did you do to it?"),
            Screen("setup", "Setup", "What was it, what shall it be, what is it now?"),
            Screen("work-plan", "Work plan", "What should be done to it, and is it worth it?"),
        ),
    ),
    Group(
        "Sell",
        (
            Screen("money", "Money", "What is it worth, and to whom?"),
            Screen("sale", "Sale", "How far has it come, and where is the money?"),
            Screen("listing", "Listing", "What do we tell who looks for one?"),
            Screen("enquiries", "Enquiries", "Who asks, and what was said?"),
            Screen("questions", "Questions", "What does the buyer ask?"),
            Screen("reports", "Reports", "Who reads it?"),
            Screen("shipping", "Shipping", "How does it travel, and when may it be opened?"),
            Screen("return-check", "Return check", "Is this what left?"),
        ),
    ),
)

SCREENS: tuple[Screen, ...] = tuple(one for group in GROUPS for one in group.screens)


def group_of(key: str) -> Group | None:
    """Group of the screen with this key; None for pages that belong to none."""
    return next((one for one in GROUPS if key in {screen.key for screen in one.screens}), None)


def screen_path(tag: str, key: str = "") -> str:
    """Address of a screen; of the instrument's own page without a key."""
    return f"/dossier/{tag}/{key}" if key else f"/dossier/{tag}"
