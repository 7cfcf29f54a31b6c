"""Papers are typeset in a process that ends, so that what the typesetter holds ends with it."""

from __future__ import annotations

import os
import signal
from datetime import UTC, datetime
from pathlib import Path

import pytest

from heelstamp.errors import StorageError
from heelstamp.report.typesetter import Typesetter

AT = datetime(2026, 11, 24, tzinfo=UTC)


@pytest.fixture
def paper(tmp_path: Path) -> Path:
    (tmp_path / "main.typ").write_text('#set document(title: "A paper")\n= A paper\n', "utf-8")
    return tmp_path


def test_the_process_ends_after_its_papers_and_the_next_gives_the_same_bytes(paper: Path) -> None:
    one = Typesetter(most=2)
    first = one.pdf(paper, AT)
    pid = one.pid
    assert pid is not None
    assert first.startswith(b"%PDF")
    assert one.pdf(paper, AT) == first
    assert one.pid is None
    with pytest.raises(ProcessLookupError):  # waited for: no process of that number is left
        os.kill(pid, 0)
    assert one.pdf(paper, AT) == first
    one.close()
    assert one.pid is None


def test_a_paper_that_cannot_be_typeset_says_why_and_the_process_goes_on(paper: Path) -> None:
    one = Typesetter()
    main = (paper / "main.typ").read_text("utf-8")
    (paper / "main.typ").write_text("#nothing-of-this-name", "utf-8")
    with pytest.raises(StorageError, match="unknown variable"):
        one.pdf(paper, AT)
    pid = one.pid
    (paper / "main.typ").write_text(main, "utf-8")
    assert one.pdf(paper, AT).startswith(b"%PDF")
    assert one.pid == pid
    one.close()


def test_a_process_that_died_is_replaced(paper: Path) -> None:
    one = Typesetter()
    first = one.pdf(paper, AT)
    assert one.pid is not None
    os.kill(one.pid, getattr(signal, "SIGKILL", signal.SIGTERM))
    try:
        again = one.pdf(paper, AT)
    except StorageError:  # it died while it was asked
        again = one.pdf(paper, AT)
    assert again == first
    one.close()


def test_it_ends_when_no_paper_comes(paper: Path) -> None:
    one = Typesetter(idle_s=0.0)
    one.pdf(paper, AT)
    clock = one._clock
    assert clock is not None
    clock.join()
    assert one.pid is None
