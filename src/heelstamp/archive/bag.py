"""The texts of a bag: BagIt 1.0, RFC 8493, with SHA-256 alone.

A bag is a folder with a payload under ``data/``, a list of the payload's digests, a few lines about
it, and a list of the digests of those texts. Lists are in the form that ``sha256sum`` checks.
Nothing is fetched: a bag that says so (``fetch.txt``) is not one of this program's.
"""

from __future__ import annotations

from collections.abc import Mapping

from heelstamp.archive.digest import is_digest, sha256
from heelstamp.errors import InputError

DECLARATION, MANIFEST, INFO, TAG_MANIFEST = (
    "bagit.txt",
    "manifest-sha256.txt",
    "bag-info.txt",
    "tagmanifest-sha256.txt",
)
PAYLOAD = "data/"
DECLARED = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"  # RFC 8493, 2.1.1


def manifest_text(digests: Mapping[str, str]) -> bytes:
    r"""List digests by path, sorted; line breaks and ``%`` in a path as RFC 8493, 2.1.3, has them.

    Examples
    --------
    >>> manifest_text({"data/a b": "0" * 4})
    b'0000  data/a b\n'
    """
    return "".join(f"{digests[path]}  {_escaped(path)}\n" for path in sorted(digests)).encode()


def read_manifest(text: bytes, name: str) -> dict[str, str]:
    """Read digests by path.

    Raises
    ------
    InputError
        A line is no digest and path, a path leads outside, or one comes twice.
    """
    found: dict[str, str] = {}
    for number, line in enumerate(text.decode("utf-8", "replace").splitlines(), start=1):
        digest, _, rest = line.partition(" ")
        path = _unescaped(rest.lstrip(" *"))
        leads_out = path.startswith("/") or ".." in path.split("/") or "\\" in path
        if not is_digest(digest.lower()) or not path or leads_out:
            raise InputError("not a line of digests", where=f"{name}, line {number}")
        if path in found:
            raise InputError("a file is listed twice", where=f"{name}, line {number}")
        found[path] = digest.lower()
    return found


def info_text(lines: Mapping[str, str]) -> bytes:
    """Lines about a bag: label and value, RFC 8493, 2.2.2."""
    told = (f"{label}: {' '.join(value.split())}\n" for label, value in lines.items())
    return "".join(told).encode()


def tag_texts(payload: Mapping[str, str], size: int, about: Mapping[str, str]) -> dict[str, bytes]:
    """Every text of a bag, the list of their digests last.

    Parameters
    ----------
    payload
        Digest by path; each path begins with `PAYLOAD`.
    size
        Bytes of all of it.
    about
        Lines beside that of size and number.
    """
    oxum = {"Payload-Oxum": f"{size}.{len(payload)}"}
    texts = {
        DECLARATION: DECLARED,
        MANIFEST: manifest_text(payload),
        INFO: info_text({**about, **oxum}),
    }
    return {**texts, TAG_MANIFEST: manifest_text({name: sha256(texts[name]) for name in texts})}


def _escaped(path: str) -> str:
    return path.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _unescaped(path: str) -> str:
    for code, character in (("%0D", "\r"), ("%0d", "\r"), ("%0A", "\n"), ("%0a", "\n")):
        path = path.replace(code, character)
    return path.replace("%25", "%")
