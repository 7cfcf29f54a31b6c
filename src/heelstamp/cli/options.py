"""Options that several commands share, each defined once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Shop = Annotated[
    Path,
    typer.Option("--shop", envvar="HEELSTAMP_SHOP", help="Folder of the shop.", show_default=False),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON value.")]
By = Annotated[str, typer.Option("--by", envvar="HEELSTAMP_BY", help="Role of the hand.")]
What = Annotated[str, typer.Argument(help="Tag of a dossier, or an examination file.")]

HERE = Path()
EXAMINER = "examiner A"
