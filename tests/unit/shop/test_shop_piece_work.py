import threading

import pytest

from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.piece_work import KEPT, WAITING, PieceWork, Progress, settle


def refuse(_told: Progress) -> None:
    raise InputError("nothing to learn from")


def fail(_told: Progress) -> None:
    raise ZeroDivisionError


def test_the_same_ground_is_worked_on_once() -> None:
    work, done = PieceWork(), []
    pieces = [work.start("learn", "a", "0", 1, lambda _told: done.append(1)) for _ in range(3)]
    settle(pieces[0], 5)
    assert pieces[0] is pieces[1] is pieces[2]
    assert done == [1]
    assert work.find(pieces[0].key) is pieces[0]
    assert work.start("learn", "a", "1", 1, lambda _told: None) is not pieces[0]
    work.close()


def test_progress_is_told_while_it_runs() -> None:
    work, go, there = PieceWork(), threading.Event(), threading.Event()

    def act(told: Progress) -> str:
        told(3, 10)
        there.set()
        assert go.wait(5)
        return "whole"

    piece = work.start("redate", "a", "0", 1, act)
    assert there.wait(5)
    assert (piece.done, piece.total, piece.finished, piece.error) == (3, 10, False, None)
    go.set()
    settle(piece, 5)
    assert piece.result == "whole"
    work.close()


def test_a_refusal_is_kept_and_may_be_tried_again() -> None:
    work = PieceWork()
    first = work.start("learn", "a", "0", 1, refuse)
    settle(first, 5)
    assert first.error is not None
    assert first.error.what == "nothing to learn from"
    second = work.start("learn", "a", "0", 1, lambda _told: "now")
    settle(second, 5)
    assert second.result == "now"
    work.close()


def test_a_fault_of_the_program_is_not_hidden() -> None:
    work = PieceWork()
    piece = work.start("learn", "a", "0", 1, fail)
    settle(piece, 5)
    with pytest.raises(ZeroDivisionError):
        _ = piece.error
    work.close()


def test_closing_stops_what_tells_how_far_it_is() -> None:
    work, there = PieceWork(), threading.Event()

    def act(told: Progress) -> None:
        there.set()
        for k in range(100_000):
            told(k, 100_000)
            threading.Event().wait(0.001)

    piece = work.start("redate", "a", "0", 1, act)
    assert there.wait(5)
    work.close()
    assert piece.error is not None
    assert piece.error.what == "the bench was closed"


def test_what_waits_and_what_is_kept_are_bounded() -> None:
    work, go = PieceWork(), threading.Event()
    waiting = [work.start("redate", "a", "0", k, lambda _told: go.wait(5)) for k in range(WAITING)]
    with pytest.raises(ConflictError, match="too much work waits"):
        work.start("redate", "a", "0", "more", lambda _told: None)
    go.set()
    for one in waiting:
        settle(one, 5)
    for k in range(2 * KEPT):
        settle(work.start("learn", "b", "0", k, lambda _told: None), 5)
    assert work.find(waiting[0].key) is None
    work.close()
