"""The bundled tables of the bench: what strings are made of, and what is usual in a setup.

Every figure of `setup_practice` is common practice without a source; nothing is measured against it
without saying so.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from heelstamp.casework.setup import Usual
from heelstamp.mechanics import WireMaterial
from heelstamp.reference.tables import FOLDER, cite, load

PA_PER_GPA = 1e9  # exact


@cache
def string_materials(folder: Path = FOLDER) -> Mapping[str, WireMaterial]:
    """The materials of strings by their key, such as ``steel``."""
    return MappingProxyType(
        {
            row["key"]: WireMaterial(
                name=row["name"],
                density_kg_m3=float(row["density_kg_m3"]),
                density_uncertainty=float(row["density_uncertainty_kg_m3"]),
                modulus_pa=PA_PER_GPA * float(row["modulus_gpa"]) if row["modulus_gpa"] else None,
                source=cite(row),
            )
            for row in load("string_materials", folder)
        }
    )


@cache
def setup_practice(kind: str, folder: Path = FOLDER) -> Mapping[str, Usual]:
    """The usual ranges for one kind of instrument, by measure."""
    return MappingProxyType(
        {
            row["measure"]: Usual(
                float(row["low"]), float(row["high"]), row["unit"], row["how"], cite(row)
            )
            for row in load("setup_practice", folder)
            if row["instrument"] in (kind, "both")
        }
    )
