"""A journal as it is found in a file: JSON lines, one JSON array of entries, or a chain of digests.

A paper carries its journal as one array. For the consignor it holds whole entries; for others
only number, kind and digests of each, which shows the order but not that a digest is that of an
entry's content.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.archive.canonical import canonical_json, read_json
from heelstamp.archive.chain import (
    ChainReport,
    Finding,
    is_head,
    verdict_of,
    verify_file,
    verify_lines,
)
from heelstamp.archive.digest import is_digest
from heelstamp.errors import InputError

LINK = frozenset({"seq", "kind", "previous", "digest"})
"""Fields of an entry in a chain of digests."""


def verify_extracted(data: bytes, *, head: str | None = None) -> ChainReport:
    """Verify a journal in any of its three forms.

    Parameters
    ----------
    head
        Digest of the last entry at some time, as known from elsewhere.

    Returns
    -------
    ChainReport
        As `verify_file` gives it. A chain of digests alone is at best *cannot decide*, with the
        code ``content``.
    """
    if not data.lstrip().startswith(b"["):
        return verify_file(data, head=head)
    try:
        entries = read_json(data)
    except InputError as error:
        findings = (Finding(0, "unreadable", error.what),)
        return ChainReport(verdict_of(findings), findings, 0, None)
    if not isinstance(entries, list):
        findings = (Finding(0, "unreadable", "is not a list of entries"),)
        return ChainReport(verdict_of(findings), findings, 0, None)
    if entries and all(isinstance(one, dict) and set(one) <= LINK for one in entries):
        return _verify_links(entries, head)
    return verify_lines([canonical_json(one) for one in entries], head=head)


def _verify_links(links: Sequence[Mapping[str, object]], head: str | None) -> ChainReport:
    findings: list[Finding] = []
    previous: object = None
    head_at = None
    for seq, link in enumerate(links, start=1):
        digest = link.get("digest")
        if link.get("seq") != seq or isinstance(link.get("seq"), bool):
            findings.append(Finding(seq, "sequence", f"is numbered {link.get('seq')}"))
        if not is_digest(digest):
            findings.append(Finding(seq, "digest", "carries no digest"))
        if link.get("previous") != previous:
            message = "does not hold the digest of the entry before"
            findings.append(Finding(seq, "link", message))
        if head is not None and head_at is None and is_digest(digest):
            head_at = seq if is_head(str(digest), head) else None
        previous = digest
    if head is not None and head_at is None:
        message = f"no entry has the expected digest {head}: the end is gone, or another journal"
        findings.append(Finding(len(links), "head", message))
    message = "only digests are here: that they are those of the entries cannot be told"
    findings.append(Finding(0, "content", message, decides=False))
    last = str(previous) if is_digest(previous) else None
    return ChainReport(verdict_of(findings), tuple(findings), len(links), last, head_at)
