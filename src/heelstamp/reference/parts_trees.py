"""The parts trees that come with the program, and those a shop adds as files.

A tree is a TOML file of the form that `heelstamp.catalogue.parts` reads, named by its kind:
``guitar.toml``. A shop's own file takes precedence over the program's.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import resources
from pathlib import Path

from heelstamp.catalogue import PartsTree, parse_parts_tree
from heelstamp.catalogue.conversion import nearest
from heelstamp.documents import decode_text, parse_document
from heelstamp.errors import InputError


def kinds_of_instrument(folder: Path | None = None) -> tuple[str, ...]:
    """List the kinds there is a tree for: the program's, then those of *folder*."""
    own = [path.stem for path in sorted(folder.glob("*.toml"))] if folder is not None else []
    bundled = resources.files("heelstamp.reference") / "parts"
    names = [one.name.removesuffix(".toml") for one in bundled.iterdir()]
    return tuple(dict.fromkeys([*sorted(names), *own]))


def load_parts_tree(kind: str, folder: Path | None = None) -> PartsTree:
    """The parts tree of a kind of instrument.

    Parameters
    ----------
    kind
        Such as ``guitar``.
    folder
        A shop's own trees; may be missing.

    Raises
    ------
    InputError
        There is no tree of this kind, or its file cannot be read.
    """
    known = kinds_of_instrument(folder)
    if kind not in known:
        raise InputError(
            "no parts tree for this kind of instrument", received=kind, remedy=nearest(kind, known)
        )
    name = f"{kind}.toml"
    own = folder / name if folder is not None else None
    if own is not None and own.exists():
        data = own.read_bytes()
    else:
        data = (resources.files("heelstamp.reference") / "parts" / name).read_bytes()
    tree = parse_parts_tree(parse_document(decode_text(data, name), name, "toml"), where=name)
    if tree.kind != kind:
        raise InputError(
            "the file is named after another kind",
            where=f"{name}, field kind",
            received=tree.kind,
            remedy=f'Write kind = "{kind}", or rename the file.',
        )
    return tree


def tree_loader(folder: Path | None = None) -> Callable[[str], PartsTree]:
    """A function that loads each tree once."""
    loaded: dict[str, PartsTree] = {}

    def tree_for(kind: str) -> PartsTree:
        if kind not in loaded:
            loaded[kind] = load_parts_tree(kind, folder)
        return loaded[kind]

    return tree_for
