"""The examples of the documentation, found wherever the program is installed."""

from __future__ import annotations

from pathlib import Path

PLACES = (Path(__file__).parents[1] / "examples", Path(__file__).parents[3] / "examples")
"""In the installed package; beside the sources, where it runs from them."""


def example_file(name: str) -> Path | None:
    """The example of this name; None where there is none, or the name leads elsewhere."""
    if not name or Path(name).name != name:
        return None
    return next((one / name for one in PLACES if (one / name).is_file()), None)
