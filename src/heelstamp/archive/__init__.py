"""Fixity: canonical JSON, digests, the chain that shows any change, copies that tell no more."""

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
from heelstamp.archive.fields import FORM, SEED_BYTES
from heelstamp.archive.issued import copy_of, verify_copy
from heelstamp.archive.opening import (
    Proof,
    SpineProof,
    opening_of,
    spine_of,
    verify_opening,
    verify_spine,
)

__all__ = [
    "FORM",
    "SEED_BYTES",
    "ChainReport",
    "Finding",
    "Proof",
    "SpineProof",
    "Verdict",
    "canonical_json",
    "copy_of",
    "digest_of",
    "is_digest",
    "line_of",
    "opening_of",
    "read_json",
    "seal",
    "sha256",
    "spine_of",
    "split_lines",
    "verify_copy",
    "verify_file",
    "verify_lines",
    "verify_opening",
    "verify_spine",
    "write_lines",
]
