"""The queue of image work: bounded, nothing twice, progress told, faults told, and an end."""

from __future__ import annotations

import threading
import time

import pytest

from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.image_work import RESULTS, ImageWork, Tell, Work

PAIR = ("F1", "F2")


class Gate:
    """A piece of work that waits until it is let through."""

    def __init__(self) -> None:
        self.began, self.go = threading.Event(), threading.Event()
        self.times = 0

    def __call__(self, tell: Tell) -> str:
        self.times += 1
        self.began.set()
        assert self.go.wait(10)
        tell("half of it", 0.5, b"small picture")
        return "found"


def ended(works: ImageWork, key: tuple[str, ...] = PAIR, tag: str = "A") -> Work:
    for _ in range(1000):
        work = works.of(tag, key)
        if work is not None and not work.open:
            return work
        time.sleep(0.005)
    raise AssertionError("the work did not end")


def test_progress_is_told_in_order_and_the_result_is_kept() -> None:
    told: list[Work] = []
    works, gate = ImageWork(told.append, at_once=1, waiting=1), Gate()
    gate.go.set()
    works.start("A", PAIR, "asked", gate)
    done = ended(works)
    works.close()
    assert (done.standing, done.result, done.preview) == ("done", "found", b"small picture")
    assert [one.standing for one in told] == ["waiting", "working", "working", "done"]
    assert [one.share for one in told] == [0.0, 0.0, 0.5, 1.0]


def test_the_same_question_about_a_pair_is_begun_once() -> None:
    works, gate = ImageWork(lambda _: None, at_once=1, waiting=1), Gate()
    works.start("A", PAIR, "asked", gate)
    assert gate.began.wait(10)
    assert works.start("A", PAIR, "asked", gate).open
    with pytest.raises(ConflictError, match="at work already"):
        works.start("A", PAIR, "asked otherwise", gate)
    assert [one.key for one in works.open_works("A")] == [PAIR]
    assert works.open_works("B") == ()
    gate.go.set()
    ended(works)
    assert works.start("A", PAIR, "asked", gate).standing == "done"
    assert gate.times == 1
    works.start("A", PAIR, "asked otherwise", gate)
    ended(works)
    assert gate.times == 2
    works.close()


def test_more_than_the_machine_bears_is_refused() -> None:
    works, gates = ImageWork(lambda _: None, at_once=1, waiting=1), [Gate(), Gate()]
    works.start("A", ("1", "2"), "x", gates[0])
    works.start("A", ("3", "4"), "x", gates[1])
    assert gates[0].began.wait(10)
    assert not gates[1].began.is_set()  # one at a time
    with pytest.raises(ConflictError, match="busy"):
        works.start("B", ("5", "6"), "x", Gate())
    for gate in gates:
        gate.go.set()
    ended(works, ("3", "4"))
    works.start("B", ("5", "6"), "x", gates[0])
    works.close()


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (InputError("not a photograph", where="F1"), "not a photograph"),
        (ZeroDivisionError("by nought"), "fault of the program"),
    ],
)
def test_what_goes_wrong_is_told_and_may_be_tried_again(fault: Exception, words: str) -> None:
    def fails(_tell: Tell) -> None:
        raise fault

    works = ImageWork(lambda _: None, at_once=1, waiting=0)
    works.start("A", PAIR, "asked", fails)
    failed = ended(works)
    assert failed.standing == "failed"
    assert words in str(failed.error)
    works.start("A", PAIR, "asked", lambda _tell: "found")
    assert ended(works).result == "found"
    works.close()


def test_only_the_last_results_are_remembered() -> None:
    works = ImageWork(lambda _: None, at_once=1, waiting=1)
    for number in range(RESULTS + 3):
        works.start("A", (str(number),), "x", lambda _tell: "found")
        ended(works, (str(number),))
    works.close()
    assert works.of("A", ("0",)) is None
    assert works.of("A", (str(RESULTS + 2),)) is not None


def test_closing_ends_work_at_its_next_stage_and_lets_what_waits_go() -> None:
    works, gate, second = ImageWork(lambda _: None, at_once=1, waiting=1), Gate(), Gate()
    works.start("A", PAIR, "x", gate)
    works.start("A", ("3", "4"), "x", second)
    assert gate.began.wait(10)
    closing = threading.Thread(target=works.close)
    closing.start()
    while not works._closing:
        time.sleep(0.001)
    gate.go.set()
    closing.join(10)
    assert not closing.is_alive()
    left = works.of("A", PAIR)
    assert left is not None
    assert left.standing != "done"
    assert second.times == 0
    with pytest.raises(ConflictError):
        works.start("B", PAIR, "x", gate)
