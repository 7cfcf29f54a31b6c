"""The copy that goes with an outsider's paper, verified from the paper or from files out of it.

No shop is needed: the copy, the files it names and the digest that the paper prints decide.
"""

from __future__ import annotations

from pathlib import Path

from heelstamp.archive import read_json
from heelstamp.archive.issued import COPY_SCHEMA, verify_copy
from heelstamp.archive.opening import Proof
from heelstamp.errors import InputError
from heelstamp.report.attached import attached_files
from heelstamp.shop.files import read_file
from heelstamp.shop.reports import COPY


def is_copy(path: Path) -> bool:
    """Whether a file is a paper, or says that it is a copy."""
    if path.suffix.lower() == ".pdf":
        return True
    return path.suffix.lower() == ".json" and COPY_SCHEMA.encode() in read_file(path)


def verify_issued(path: Path, *, head: str | None) -> Proof:
    """Verify a copy and the files it names.

    Parameters
    ----------
    path
        A paper with its attachments, or a ``copy.json`` beside the files that it names.
    head
        Digest that the paper prints.

    Raises
    ------
    InputError
        The file cannot be read, is no PDF, or carries no copy.
    """
    data = read_file(path)
    if path.suffix.lower() != ".pdf":
        return verify_copy(data, _beside(path, data), head=head)
    files = attached_files(data, path.name)
    copy = files.pop(COPY, None)
    if copy is None:
        raise InputError(
            "this paper carries no copy",
            where=path.name,
            remedy="It is a preview, a paper of the consignor or the shop, or older: verify its "
            "dossier by its tag.",
        )
    return verify_copy(copy, files, head=head)


def _beside(path: Path, data: bytes) -> dict[str, bytes]:
    """Read the files that a copy names from its folder; what is not there is left out."""
    try:
        rows = read_json(data)["shown"]
        named = next(dict(row[3]) for row in rows if row[2] == "/body/files")
    except (InputError, KeyError, TypeError, ValueError, IndexError, StopIteration):
        return {}  # verifying says what is wrong with it
    plain = [name for name in named if isinstance(name, str) and Path(name).name == name]
    found = [path.with_name(name) for name in plain]
    return {one.name: read_file(one) for one in found if one.is_file()}
