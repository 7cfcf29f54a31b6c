"""Texts of bags against RFC 8493."""

from __future__ import annotations

import pytest

from heelstamp.archive.bag import DECLARED, info_text, manifest_text, read_manifest, tag_texts
from heelstamp.errors import InputError

DIGEST = "0123456789abcdef" * 4


def test_paths_with_breaks_and_percent_come_back() -> None:
    """RFC 8493, 2.1.3: a carriage return, a line feed and a percent sign are encoded."""
    digests = {"data/a\nb": DIGEST, "data/c\rd": DIGEST, "data/50%25": DIGEST, "data/é f": DIGEST}
    text = manifest_text(digests)
    assert text.count(b"\n") == 4
    assert b"data/50%2525" in text
    assert read_manifest(text, "m") == digests


@pytest.mark.parametrize(
    "line",
    ["", "x  data/a", f"{DIGEST}  ", f"{DIGEST}  ../a", f"{DIGEST}  /a", f"{DIGEST}  data/../../a"],
)
def test_lines_that_lead_elsewhere_are_refused(line: str) -> None:
    with pytest.raises(InputError, match="not a line of digests"):
        read_manifest(f"{DIGEST}  data/ok\n{line}\n".encode(), "manifest-sha256.txt")


def test_a_file_listed_twice_is_refused() -> None:
    with pytest.raises(InputError, match="twice"):
        read_manifest(f"{DIGEST}  data/a\n{DIGEST}  data/a\n".encode(), "m")


def test_the_texts_of_a_bag() -> None:
    texts = tag_texts({"data/a": DIGEST}, 5, {"Source-Organization": "A shop\nwith a break"})
    assert texts["bagit.txt"] == DECLARED
    assert texts["bag-info.txt"] == (
        b"Source-Organization: A shop with a break\nPayload-Oxum: 5.1\n"
    )
    assert set(read_manifest(texts["tagmanifest-sha256.txt"], "t")) == {
        "bagit.txt",
        "manifest-sha256.txt",
        "bag-info.txt",
    }
    assert info_text({}) == b""
