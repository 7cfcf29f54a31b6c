"""The ledger of a shop: every change of its tables chained, as a journal chains its entries.

One line for each transaction says which rows it put in or took out, by a digest over their
digests. A row changed behind the program's back no longer has the digest last noted; a row gone or
added is told as such. A ledger cut off after a line is a sound shorter ledger: that shows only
against a digest of the last line kept elsewhere. Each line holds a seed of 32 random bytes, so that
who is told its digest cannot try what was sold for how much.

Line: RFC 8785 of ``{n, at, by, count, rows, previous, seed, digest}``. ``digest`` is SHA-256 over a
zero byte, ``heelstamp/ledger/1``, a zero byte and RFC 8785 of the rest; ``rows`` SHA-256 of RFC
8785 of the changes ``[table, key, digest or null]``, sorted by table and key in order of code
points, a key being RFC 8785 of the list of its values. Digest of a row: SHA-256 over a zero byte,
``heelstamp/row/1``, a zero byte and RFC 8785 of ``{table, row}`` with all columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from heelstamp.archive.canonical import canonical_json, read_strictly
from heelstamp.archive.chain import ChainReport, Finding, is_head, verdict_of
from heelstamp.archive.digest import digest_of, is_digest, sha256
from heelstamp.archive.fields import check_seed
from heelstamp.errors import InputError

LEDGER_FIELDS = ("n", "at", "by", "count", "rows", "previous", "seed", "digest")
_LINE_DOMAIN = b"\x00heelstamp/ledger/1\x00"
_ROW_DOMAIN = b"\x00heelstamp/row/1\x00"


@dataclass(frozen=True, slots=True, order=True)
class RowChange:
    """What one transaction did to one row.

    Attributes
    ----------
    table
        Name of the table.
    key
        From `row_key`.
    digest
        Of the row as it stands since; None when it was taken out.
    """

    table: str
    key: str
    digest: str | None


@dataclass(frozen=True, slots=True)
class RowFault:
    """A row that is not as the ledger has it: ``changed``, ``missing`` or ``left over``."""

    table: str
    key: str
    code: str


def row_key(values: Sequence[object]) -> str:
    """Text by which the ledger names a row: its primary key's values in order.

    Raises
    ------
    InputError
        A value has no canonical form.

    Examples
    --------
    >>> row_key(["sallowby-wherry", 3])
    '["sallowby-wherry",3]'
    """
    return canonical_json(list(values)).decode("utf-8")


def row_digest(table: str, row: Mapping[str, object]) -> str:
    """Digest of a row with all its columns by name.

    Raises
    ------
    InputError
        A value has no canonical form.
    """
    return sha256(_ROW_DOMAIN + canonical_json({"table": table, "row": dict(row)}))


def changes_digest(changes: Iterable[RowChange]) -> str:
    """Digest over what one transaction did, in whatever order it is told.

    Raises
    ------
    InputError
        A row is named twice.
    """
    ordered = sorted(changes, key=lambda one: (one.table, one.key))
    for one, after in pairwise(ordered):
        if (one.table, one.key) == (after.table, after.key):
            raise InputError(
                "a row changes twice in one transaction",
                where=one.table,
                received=one.key,
                remedy="Note only how it stands at the end.",
            )
    return digest_of([[one.table, one.key, one.digest] for one in ordered])


def ledger_line(
    changes: Sequence[RowChange], *, n: int, at: str, by: str, previous: str | None, seed: bytes
) -> dict[str, object]:
    """Sealed line for one transaction; its canonical JSON is what is kept.

    Parameters
    ----------
    n
        Number of the line, from 1.
    previous
        Digest of the line before, None for the first.
    seed
        32 bytes from the system's generator, used for this line and never again.

    Raises
    ------
    InputError
        A row is named twice, a text has no canonical form, or the seed has another length.
    """
    check_seed(seed)
    bare: dict[str, object] = {
        "n": n,
        "at": at,
        "by": by,
        "count": len(changes),
        "rows": changes_digest(changes),
        "previous": previous,
        "seed": seed.hex(),
    }
    return {**bare, "digest": _line_digest(bare)}


def _line_digest(line: Mapping[str, object]) -> str:
    bare = {name: value for name, value in line.items() if name != "digest"}
    return sha256(_LINE_DOMAIN + canonical_json(bare))


def verify_ledger(
    lines: Sequence[bytes], changes: Mapping[int, Sequence[RowChange]], *, head: str | None = None
) -> ChainReport:
    """Verify the chain of lines, and that each is about the changes noted under its number.

    Parameters
    ----------
    changes
        By number of their line.
    head
        Digest of the last line at some time, as known from elsewhere; later lines may follow it.

    Returns
    -------
    ChainReport
        Codes of a line, in this order: ``unreadable``, ``not canonical``, ``fields``,
        ``sequence``, ``rows``, ``digest``, ``link``; ``rows`` also of changes without a line. Of
        the whole: ``head``, ``empty``.
    """
    findings: list[Finding] = []
    carried: list[str | None] = []
    for n, text in enumerate(lines, start=1):
        own, found = _verify_line(n, text, changes.get(n, ()), carried)
        carried.append(own)
        findings += found
    for n in sorted(set(changes) - set(range(1, len(lines) + 1))):
        findings.append(Finding(n, "rows", "changes are noted, but there is no such line"))
    if not lines:
        findings.append(Finding(0, "empty", "there is no line to verify", decides=False))
    head_at = None
    if head is not None and lines:
        fitting = (n for n, one in enumerate(carried, start=1) if one and is_head(one, head))
        head_at = next(fitting, None)
        if head_at is None:
            message = f"no line has the expected digest {head}: the end is gone"
            findings.append(Finding(len(lines), "head", message))
    last = carried[-1] if carried else None
    return ChainReport(verdict_of(findings), tuple(findings), len(lines), last, head_at)


def _verify_line(
    n: int, text: bytes, changes: Sequence[RowChange], before: Sequence[str | None]
) -> tuple[str | None, list[Finding]]:
    """The digest that a line carries, None when it cannot be read, and what is wrong."""
    try:
        line, canonical = read_strictly(text)
    except InputError as error:
        return None, [Finding(n, "unreadable", error.what)]
    if not isinstance(line, dict):
        return None, [Finding(n, "unreadable", "is no line of a ledger")]
    wrong: list[tuple[str, str]] = []
    if canonical != text:
        wrong.append(("not canonical", "differs from its canonical form"))
    if set(line) != set(LEDGER_FIELDS) or not is_digest(line["seed"]):
        wrong.append(("fields", "does not have the fields of a line"))
    if line.get("n") != n or isinstance(line.get("n"), bool):
        wrong.append(("sequence", f"is numbered {line.get('n')}"))
    try:
        noted = (len(changes), changes_digest(changes))
    except InputError:
        noted = (-1, "")
    if (line.get("count"), line.get("rows")) != noted or isinstance(line.get("count"), bool):
        wrong.append(("rows", "is about other changes than are noted under its number"))
    if line.get("digest") != _line_digest(line):
        wrong.append(("digest", "does not have the digest it carries"))
    previous = before[-1] if before else None
    if (not before or previous is not None) and line.get("previous") != previous:
        wrong.append(("link", "does not carry the digest of the line before"))
    own = line.get("digest")
    return (str(own) if is_digest(own) else None), [Finding(n, *one) for one in wrong]


def rows_standing(changes: Mapping[int, Sequence[RowChange]]) -> dict[tuple[str, str], str]:
    """Digest of each row that stands after the last line, by table and key."""
    standing: dict[tuple[str, str], str] = {}
    for n in sorted(changes):
        for one in changes[n]:
            if one.digest is None:
                standing.pop((one.table, one.key), None)
            else:
                standing[one.table, one.key] = one.digest
    return standing


def row_faults(
    standing: Mapping[tuple[str, str], str], found: Mapping[tuple[str, str], str]
) -> tuple[RowFault, ...]:
    """Compare the rows that should stand with the digests of those found, by table and key."""
    faults = []
    for table, key in sorted(set(standing) | set(found)):
        wanted, got = standing.get((table, key)), found.get((table, key))
        if wanted != got:
            code = "missing" if got is None else "left over" if wanted is None else "changed"
            faults.append(RowFault(table, key, code))
    return tuple(faults)
