"""The chain of a journal: each entry holds the digest of the one before it.

What an attacker can do: change, remove, insert, reorder entries in a copy. What is guaranteed:
any such change of a line is found, unless every later digest is computed anew. What is not: a
journal cut off after an entry is a sound shorter journal, and one recomputed from some entry on
is a sound other journal. Both are found only against a head digest kept elsewhere, on a paper or
with the owner; give it as ``head``.

An entry of form 1, which carries no ``form``, has the SHA-256 of the canonical JSON of its other
fields as digest; one of form 2 the root over its salted fields (`heelstamp.archive.fields`). New
entries are of form 2; journals begun in form 1 go on in it.

Verification rules, all of them applied before anything is reported:

1. Every line is the canonical JSON (RFC 8785) of one envelope, and ends with a line feed.
2. It has exactly the fields of its form, and no entry of form 1 comes after one of form 2.
3. ``seq`` runs 1, 2, 3, ….
4. ``digest`` is that of the other fields.
5. ``previous`` is the digest that the entry before carries; null in the first.
6. The expected head, when one is given, is the digest of one of the entries: later ones may follow
   it, none up to it may be gone. Its first eight digits or more will do.

Verdicts: *sound*; *broken* when a rule is contradicted; *cannot decide* when nothing contradicts
but the journal is empty or its last line is cut short.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from heelstamp.archive.canonical import EndOfTextError, canonical_json, read_strictly
from heelstamp.archive.digest import digest_of, is_digest
from heelstamp.archive.fields import FORM, MOST, check_seed, digest_of_fields, pairs_of
from heelstamp.errors import InputError

LEAST_HEAD = 8
"""Digits of a digest that name an entry within one journal; 4 billion to one against chance."""

FIELDS = ("seq", "at", "by", "kind", "body", "previous", "digest")
"""Fields of an entry of form 1."""

FIELDS_2 = (*FIELDS, "form", "seed")
"""Fields of an entry of form 2."""


class Verdict(Enum):
    """What verification came to."""

    SOUND = "sound"
    BROKEN = "broken"
    CANNOT_DECIDE = "cannot decide"

    @property
    def said(self) -> str:
        """The word for who asked: passed, failed or cannot tell."""
        return _SAID[self.value]


_SAID = {"sound": "passed", "broken": "failed", "cannot decide": "cannot tell"}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found in a journal.

    Attributes
    ----------
    seq
        Number of the entry by its place, from 1.
    code
        Of a line, in this order: ``unreadable``, ``not canonical``, ``fields``, ``form``,
        ``sequence``, ``digest``, ``link``. Of the whole: ``head``, ``empty`` or ``cut short``.
    message
        What was expected and what was found.
    decides
        Whether it alone makes the journal broken.
    """

    seq: int
    code: str
    message: str
    decides: bool = True


@dataclass(frozen=True, slots=True)
class ChainReport:
    """All findings, the verdict they come to, and the length and head of the journal read.

    ``head_at`` is the number of the entry that carries the expected head, when one was given.
    """

    verdict: Verdict
    findings: tuple[Finding, ...]
    length: int
    head: str | None
    head_at: int | None = None

    def with_finding(self, finding: Finding) -> ChainReport:
        """Add a finding from elsewhere; the verdict follows."""
        findings = (*self.findings, finding)
        return replace(self, findings=findings, verdict=verdict_of(findings))


def seal(fields: Mapping[str, object], seed: bytes, *, where: str = "") -> dict[str, object]:
    """Complete the envelope *fields* to an entry of form 2 with its seed and digest.

    Parameters
    ----------
    seed
        32 bytes from the system's generator, used for this entry and never again.

    Raises
    ------
    InputError
        The fields have no canonical form or are too many, or the seed has another length.
    """
    check_seed(seed)
    given = {name: value for name, value in fields.items() if name not in ("digest", "seed")}
    bare = {**given, "form": FORM}
    canonical_json(bare, where=where)
    digest = digest_of_fields(bare, seed, where=where)
    return {**bare, "seed": seed.hex(), "digest": digest}


def line_of(sealed: Mapping[str, object]) -> bytes:
    """Line of a journal file for a sealed envelope, without its line feed."""
    return canonical_json(dict(sealed))


def write_lines(lines: Iterable[bytes]) -> bytes:
    """A journal file: one entry a line, each ended by a line feed."""
    return b"".join(line + b"\n" for line in lines)


def split_lines(data: bytes) -> list[bytes]:
    """Split a journal file; a last line without line feed is kept, marked by its lack of one."""
    parts = data.split(b"\n")
    whole = [part + b"\n" for part in parts[:-1]]
    return [*whole, parts[-1]] if parts[-1] else whole


def verify_file(data: bytes, *, head: str | None = None) -> ChainReport:
    """Verify the bytes of a journal file.

    Parameters
    ----------
    data
        JSON lines as `write_lines` makes them.
    head
        Digest of the last entry at some time, as known from elsewhere (a paper prints it);
        without it a cut-off end is not found.
    """
    lines = split_lines(data)
    findings: list[Finding] = []
    if lines and not lines[-1].endswith(b"\n"):
        findings.append(_end_of(lines[-1], len(lines)))
    return _verify([line.removesuffix(b"\n") for line in lines], findings, head)


def verify_lines(lines: Sequence[bytes], *, head: str | None = None) -> ChainReport:
    """Verify stored lines, each without its line feed; see `verify_file`."""
    return _verify(lines, [], head)


def _end_of(last: bytes, seq: int) -> Finding:
    try:
        read_strictly(last)
    except EndOfTextError:
        message = "the file ends within this entry; the rest of it is missing"
        return Finding(seq, "cut short", message, decides=False)
    except InputError:
        pass
    return Finding(seq, "unreadable", "the last entry is not ended by a line feed")


def _verify(lines: Sequence[bytes], findings: list[Finding], head: str | None) -> ChainReport:
    incomplete = {one.seq for one in findings if one.code == "cut short"}
    previous: str | None = None
    known = True  # whether the digest that the entry before carries could be read
    salted = False  # whether an entry of form 2 came before
    carried: dict[int, str] = {}
    for seq, line in enumerate(lines, start=1):
        if seq in incomplete:
            known = False
            continue
        envelope = _read_line(seq, line, findings)
        if envelope is None:
            known = False
            continue
        findings += _fields_findings(seq, envelope)
        if salted and "form" not in envelope:
            findings.append(Finding(seq, "form", "is of form 1, after an entry of form 2"))
        salted = salted or "form" in envelope
        findings += _content_findings(seq, envelope)
        if known and envelope.get("previous") != previous:
            message = (
                f"holds {envelope.get('previous')} as the digest of the entry before, "
                f"which is {previous}"
            )
            findings.append(Finding(seq, "link", message))
        own = envelope.get("digest")
        known = is_digest(own)
        previous = str(own) if known else None
        if known:
            carried[seq] = str(own)
    if not lines:
        findings.append(Finding(0, "empty", "there is no entry to verify", decides=False))
    last = previous if known else None
    head_at = None
    if head is not None and lines:
        head_at = next((seq for seq, one in carried.items() if is_head(one, head)), None)
        if head_at is None and len(carried) == len(lines):
            message = (
                f"no entry has the expected digest {head}: the end is gone, or another journal"
            )
            findings.append(Finding(len(lines), "head", message))
    findings.sort(key=lambda one: one.seq)
    return ChainReport(
        verdict_of(findings), tuple(_without_echoes(findings)), len(lines), last, head_at
    )


def is_head(digest: str, head: str) -> bool:
    """Whether *head*, a digest or its first `LEAST_HEAD` digits or more, is that of *digest*."""
    return digest.startswith(head.strip().lower()) and len(head.strip()) >= LEAST_HEAD


def _without_echoes(findings: Sequence[Finding]) -> list[Finding]:
    """Leave out that later entries are numbered wrongly too: the first such place tells."""
    kept: list[Finding] = []
    numbered = False
    for one in findings:
        if one.code == "sequence" and numbered:
            continue
        numbered = numbered or one.code == "sequence"
        kept.append(one)
    return kept


def verdict_of(findings: Sequence[Finding]) -> Verdict:
    """Verdict that findings come to."""
    if any(one.decides for one in findings):
        return Verdict.BROKEN
    return Verdict.CANNOT_DECIDE if findings else Verdict.SOUND


def _read_line(seq: int, line: bytes, findings: list[Finding]) -> dict[str, object] | None:
    try:
        value, canonical = read_strictly(line)
    except InputError as error:
        findings.append(Finding(seq, "unreadable", error.what))
        return None
    if not isinstance(value, dict):
        findings.append(Finding(seq, "unreadable", "the line is not an entry"))
        return None
    if canonical != line:
        place = next(
            (i for i, (a, b) in enumerate(zip(canonical, line, strict=False)) if a != b),
            min(len(canonical), len(line)),
        )
        findings.append(
            Finding(seq, "not canonical", f"differs from its canonical form at byte {place + 1}")
        )
    return value


def _fields_findings(seq: int, envelope: Mapping[str, object]) -> list[Finding]:
    """Tell what its form wants otherwise; a seed is never shown."""
    wanted = FIELDS_2 if "form" in envelope else FIELDS
    wrong = []
    if missing := [name for name in wanted if name not in envelope]:
        wrong.append("lacks " + ", ".join(missing))
    if unknown := sorted(set(envelope) - set(wanted)):
        wrong.append("holds what no entry has: " + ", ".join(unknown))
    if "form" in envelope and not _is_number(envelope["form"], FORM):
        wrong.append("is of a form that this program does not know")
    if "form" in envelope and "seed" in envelope and not is_digest(envelope["seed"]):
        wrong.append("its seed is not 64 hexadecimal digits")
    if not isinstance(envelope.get("body", {}), dict):
        wrong.append("its body is not a table of fields")
    if "form" in envelope and len(pairs_of(envelope)) > MOST:
        wrong.append(f"has more than {MOST} fields")
    return [Finding(seq, "fields", one) for one in wrong]


def _content_findings(seq: int, envelope: Mapping[str, object]) -> list[Finding]:
    findings = []
    if "seq" in envelope and not _is_number(envelope["seq"], seq):
        findings.append(Finding(seq, "sequence", f"is numbered {envelope['seq']}"))
    computed = _computed_digest(envelope)
    if computed is not None and envelope.get("digest", computed) != computed:
        message = f"carries digest {envelope['digest']}, its content has {computed}"
        findings.append(Finding(seq, "digest", message))
    return findings


def _computed_digest(envelope: Mapping[str, object]) -> str | None:
    """Digest of the content; None where the fields, as told before, allow none."""
    if "form" not in envelope:
        return digest_of({name: value for name, value in envelope.items() if name != "digest"})
    seed = envelope.get("seed")
    if not _is_number(envelope["form"], FORM) or not is_digest(seed):
        return None
    try:
        return digest_of_fields(envelope, bytes.fromhex(str(seed)))
    except InputError:  # more fields than a tree holds
        return None


def _is_number(value: object, expected: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value == expected
