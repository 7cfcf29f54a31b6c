"""The copy that goes with an outsider's paper: proof that the shop's journal holds that paper.

When a paper is issued the shop enters an ``issue`` with the SHA-256 of each file attached, and the
paper prints the digest of that entry. The copy opens five fields of it and no more: `SHOWN`. It
tells nothing of the entries before, not even how many there are: the digest of the entry before is
a salted field like any other, and not shown. That the paper agrees with the older entries is
proved by opening those (`heelstamp.archive.opening`), not by the copy.

Form and checks are those of an opening, with another schema; after them ``fields`` (exactly the
five), ``kind`` (an issue of form 2), ``files`` (the attachments are those named), ``file`` (each
has its SHA-256).
"""

from __future__ import annotations

from collections.abc import Mapping

from heelstamp.archive.digest import is_digest, sha256
from heelstamp.archive.fields import FORM
from heelstamp.archive.opening import Proof, Refusal, carried_text, judged, proved, refuse_unless
from heelstamp.errors import InputError

COPY_SCHEMA = "heelstamp/copy/2"
ISSUE = "issue"
"""Kind of the entry that fixes one paper for one reader."""

SHOWN = ("/form", "/kind", "/body/reader", "/body/day", "/body/files")


def copy_of(issue: Mapping[str, object]) -> bytes:
    """Copy of a sealed issue, for the paper it issued: the same bytes each time.

    Raises
    ------
    InputError
        The entry is not an issue of form 2, or lacks one of the fields.
    """
    if issue.get("kind") != ISSUE:
        raise InputError(
            "not an issue of a paper",
            where=f"entry {issue.get('seq')}",
            received=issue.get("kind"),
            remedy="Issue the paper first.",
        )
    return carried_text(COPY_SCHEMA, issue, SHOWN)


def verify_copy(text: bytes, attachments: Mapping[str, bytes], *, head: str | None) -> Proof:
    """Verify a copy and the paper's other attachments.

    Parameters
    ----------
    attachments
        Content of each file that came with the paper, by name, without the copy itself.
    head
        Digest printed on the paper.
    """
    try:
        shown, digest = proved(text, COPY_SCHEMA, head)
        paths = [path for path, _ in shown]
        refuse_unless(
            sorted(paths) == sorted(SHOWN), "fields", "shows other fields than a copy does"
        )
        values = dict(shown)
        form = values["/form"]
        refuse_unless(
            values["/kind"] == ISSUE and form == FORM and not isinstance(form, bool),
            "kind",
            "is not an issue of form 2",
        )
        _check_files(values["/body/files"], attachments)
    except Refusal as refusal:
        return refusal.proof
    return judged(shown, digest, head)


def _check_files(named: object, attachments: Mapping[str, bytes]) -> None:
    digests = dict(named) if isinstance(named, dict) else {}
    refuse_unless(
        isinstance(named, dict)
        and set(named) == set(attachments)
        and all(map(is_digest, named.values())),
        "files",
        "the attachments are not those that were issued",
    )
    for name in sorted(digests):
        refuse_unless(
            sha256(attachments[name]) == digests[name],
            "file",
            f"{name} is not the file that was issued",
        )
