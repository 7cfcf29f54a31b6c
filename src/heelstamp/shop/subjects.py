"""What a command is about: a dossier of the shop, or an examination file, with its chronology."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import InputError
from heelstamp.shop.folder import CHRONOLOGIES_FOLDER, is_shop, open_shop

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.feature_names import FeatureNames
    from heelstamp.catalogue import DossierState, PartsTree
    from heelstamp.chronology import Chronology
    from heelstamp.dating import CompiledModel

ENDINGS = (".toml", ".json")


@dataclass(frozen=True)
class Subject:
    """An instrument to work on.

    Attributes
    ----------
    name
        Tag of the dossier, or name of the file.
    state, tree, chronology
        What stands of it, the parts of its kind, what is known of its maker.
    shop
        Folder of the shop, or None for a file.
    """

    name: str
    state: DossierState
    tree: PartsTree
    chronology: Chronology
    shop: Path | None


def load_subject(what: str, shop: Path) -> Subject:
    """Load an examination file, or a dossier of *shop* by its tag.

    Raises
    ------
    InputError
        Neither a file nor a dossier, or it cannot be read.
    """
    path = Path(what)
    if path.suffix.lower() in ENDINGS:
        return _from_file(path, shop)
    if not is_shop(shop):
        raise InputError(
            "neither an examination file nor a shop to find this dossier in",
            received=what,
            remedy="Name a .toml or .json file, or give the shop's folder with --shop.",
        )
    from heelstamp.casework.dossier import state_of

    with open_shop(shop) as opened:
        state = state_of(opened, what)
        tree = opened.tree_for(state.instrument.kind)
    return Subject(what, state, tree, chronology_for(state.instrument.chronology, shop), shop)


def _from_file(path: Path, shop: Path) -> Subject:
    from heelstamp.casework.examination import read_examination
    from heelstamp.documents import decode_text, format_of
    from heelstamp.reference.parts_trees import tree_loader

    form = format_of(path.name)
    text = decode_text(read_file(path), path.name)
    tree_for = tree_loader(shop / "parts" if is_shop(shop) else None)
    examination = read_examination(text, form, tree_for, name=path.name)
    instrument = examination.instrument
    return Subject(
        path.name,
        examination.state,
        tree_for(instrument.kind),
        chronology_for(instrument.chronology, shop, beside=path.parent),
        None,
    )


def read_file(path: Path) -> bytes:
    """Read a file that a person named.

    Raises
    ------
    InputError
        There is none, or it may not be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            "the file cannot be read",
            where=str(path),
            received=error.strerror,
            remedy="Check its name and your permission.",
        ) from None


def chronology_for(name: str, shop: Path | None = None, beside: Path | None = None) -> Chronology:
    """Give a chronology by id, from the shop or the program, or by file name beside *beside*."""
    from heelstamp.reference.chronology_files import load_chronology, read_chronology_file

    if name.lower().endswith(ENDINGS):
        return read_chronology_file((beside or Path()) / name)
    own = shop / CHRONOLOGIES_FOLDER if shop is not None and is_shop(shop) else None
    return load_chronology(name, own)


def date_subject(subject: Subject, compiled: CompiledModel | None = None) -> DateFinding:
    """Date a subject with the bundled reference tables; *compiled* is its chronology's model."""
    from heelstamp.casework.dating import date_instrument
    from heelstamp.reference.tables import mark_context

    return date_instrument(subject.state, subject.chronology, mark_context(), compiled)


def terms_of(chronology: Chronology) -> FeatureNames:
    """Give the chronology's names of features and signs, for papers."""
    from heelstamp.casework.feature_names import FeatureNames

    names = {row.id: row.name for row in chronology.features}
    names |= {other: row.name for row in chronology.features for other in row.also}
    names |= {row.id: row.name for row in chronology.signs}
    covered = frozenset(row.id for row in chronology.signs if row.covered_area)
    return FeatureNames(
        names={**names, **chronology.words}, variants=chronology.words, covered_area_signs=covered
    )
