"""Fixity: canonical JSON, digests, and the chain that shows any change of a journal."""

from heelstamp.archive.canonical import canonical_json, read_json
from heelstamp.archive.chain import (
    ChainReport,
    Finding,
    Verdict,
    line_of,
    seal,
    split_lines,
    verify_file,
    verify_lines,
    write_lines,
)
from heelstamp.archive.digest import digest_of, is_digest, sha256

__all__ = [
    "ChainReport",
    "Finding",
    "Verdict",
    "canonical_json",
    "digest_of",
    "is_digest",
    "line_of",
    "read_json",
    "seal",
    "sha256",
    "split_lines",
    "verify_file",
    "verify_lines",
    "write_lines",
]
