"""The chronologies that come with the program, and those a shop adds as files.

A chronology is a TOML or JSON file named by its id: ``sallowby-wherry.toml``. A shop's own file
takes precedence over the program's. Those that come with the program are of an invented maker.
"""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from heelstamp.catalogue.conversion import nearest
from heelstamp.chronology import Chronology, read_chronology
from heelstamp.documents import decode_text, format_of
from heelstamp.errors import InputError, NotFoundError

BUNDLED = "chronologies"


def chronology_ids(folder: Path | None = None) -> tuple[str, ...]:
    """List the chronologies there are: the program's, then those of *folder*."""
    own: list[str] = []
    if folder is not None and folder.is_dir():
        own = [one.stem for one in sorted(folder.iterdir()) if one.suffix in (".toml", ".json")]
    bundled = [one.name for one in (resources.files("heelstamp.reference") / BUNDLED).iterdir()]
    names = sorted(name.removesuffix(".toml") for name in bundled if name.endswith(".toml"))
    return tuple(dict.fromkeys([*names, *own]))


def load_chronology(id_: str, folder: Path | None = None) -> Chronology:
    """A chronology by its id.

    Parameters
    ----------
    id_
        Such as ``sallowby-wherry``.
    folder
        A shop's own chronologies; may be missing.

    Raises
    ------
    InputError
        There is none of this id, or its file cannot be read; names file, line and field.
    """
    own = own_file(id_, folder)
    if own is not None:
        return read_chronology_file(own, id_)
    return read_chronology(bundled_text(id_, folder), "toml", name=f"{id_}.toml")


def own_file(id_: str, folder: Path | None) -> Path | None:
    """A shop's own file of a chronology, if it has one."""
    for ending in (".toml", ".json"):
        own = folder / f"{id_}{ending}" if folder is not None else None
        if own is not None and own.is_file():
            return own
    return None


def bundled_text(id_: str, folder: Path | None = None) -> str:
    """The text of a chronology that comes with the program.

    Raises
    ------
    NotFoundError
        There is none of this id; the remedy names what there is, in *folder* too.
    """
    if id_ not in chronology_ids():
        raise NotFoundError(
            "no such chronology", received=id_, remedy=nearest(id_, chronology_ids(folder))
        )
    name = f"{id_}.toml"
    data = (resources.files("heelstamp.reference") / BUNDLED / name).read_bytes()
    return decode_text(data, name)


def read_chronology_file(path: Path, id_: str | None = None) -> Chronology:
    """Read a chronology from a file of any place; with *id_*, it must carry that id.

    Raises
    ------
    InputError
        It cannot be read, or is named after another id.
    """
    form = format_of(path.name)
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            "the file cannot be read",
            where=str(path),
            received=error.strerror,
            remedy="Check its name and your permission.",
        ) from None
    chronology = read_chronology(decode_text(data, path.name), form, name=path.name)
    if id_ is not None and chronology.id != id_:
        raise InputError(
            "the file is named after another chronology",
            where=f"{path.name}, field id",
            received=chronology.id,
            remedy=f'Write id = "{id_}", or rename the file.',
        )
    return chronology
