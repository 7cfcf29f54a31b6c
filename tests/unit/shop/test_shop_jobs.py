"""Work beside the requests: bounded, nothing twice, progress told, faults told, and an end."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from heelstamp.errors import ConflictError, HeelstampError, InputError
from heelstamp.shop.jobs import REMEMBERED, FaultError, Job, Jobs, Lane, Progress, StoppedError

PAIR = ("F1", "F2")
NARROW = {"pairs": Lane(1, 1), "census": Lane(1, 0)}


class Gate:
    """A piece of work that waits until it is let through."""

    def __init__(self) -> None:
        self.began, self.go = threading.Event(), threading.Event()
        self.times = 0

    def __call__(self, tell: Progress) -> str:
        self.times += 1
        self.began.set()
        assert self.go.wait(10)
        tell(3, 6, "half of it", b"small picture")
        return "found"


def compare(jobs: Jobs, act: Any, on: tuple[str, ...] = PAIR, base: str = "asked") -> Job:
    """Begin a comparison, of which a pair has one at a time."""
    return jobs.start("pairs", "compare", "A", act, on=on, base=base, alone=True)


def ended(jobs: Jobs, job: Job) -> Job:
    """Wait for the end of a job."""
    last = jobs.wait(job, 10)
    assert last.finished
    return last


def test_progress_is_told_in_order_and_the_result_is_kept() -> None:
    told: list[Job] = []
    jobs, gate = Jobs(NARROW), Gate()
    jobs.listen(told.append)
    gate.go.set()
    done = ended(jobs, compare(jobs, gate))
    jobs.close()
    assert (done.standing, done.result, done.preview) == ("done", "found", b"small picture")
    assert [one.standing for one in told] == ["waiting", "working", "working", "done"]
    assert [one.share for one in told] == [0.0, 0.0, 0.5, 1.0]
    assert [one.stage for one in told] == ["waiting", "reading", "half of it", "done"]


def test_the_same_ground_is_worked_on_once() -> None:
    jobs, gate = Jobs(NARROW), Gate()
    first = compare(jobs, gate)
    assert gate.began.wait(10)
    assert compare(jobs, gate).key == first.key
    with pytest.raises(ConflictError, match="at work already"):
        compare(jobs, gate, base="asked otherwise")
    gate.go.set()
    ended(jobs, first)
    assert compare(jobs, gate).standing == "done"
    assert gate.times == 1
    second = ended(jobs, compare(jobs, gate, base="asked otherwise"))
    assert gate.times == 2
    assert jobs.find(first.key) is None  # the pair has another answer now
    assert jobs.at("compare", "A", PAIR) == second
    assert jobs.at("compare", "B", PAIR) is None
    jobs.close()


def test_jobs_at_one_place_stand_side_by_side_unless_said() -> None:
    jobs = Jobs({"census": Lane(1, 2)})
    both = [
        ended(jobs, jobs.start("census", "learn", "a", lambda _tell, k=k: k, rests_on=k))
        for k in (1, 2)
    ]
    assert [jobs.find(one.key) for one in both] == both
    assert jobs.at("learn", "a") == both[1]
    jobs.close()


def test_lanes_do_not_wait_for_each_other_and_are_bounded() -> None:
    jobs, gates = Jobs(NARROW), [Gate(), Gate(), Gate()]
    compare(jobs, gates[0], ("1", "2"))
    waits = compare(jobs, gates[1], ("3", "4"))
    assert gates[0].began.wait(10)
    assert not gates[1].began.is_set()  # one at a time
    with pytest.raises(ConflictError, match="busy"):
        compare(jobs, Gate(), ("5", "6"))
    jobs.start("census", "learn", "a", gates[2])
    assert gates[2].began.wait(10)
    for gate in gates:
        gate.go.set()
    ended(jobs, waits)
    ended(jobs, compare(jobs, gates[0], ("5", "6")))
    jobs.close()


@pytest.mark.parametrize(
    ("fault", "kind", "words"),
    [
        (InputError("not a photograph", where="F1"), InputError, "not a photograph"),
        (ZeroDivisionError("by nought"), FaultError, "fault of the program.*by nought"),
    ],
)
def test_what_goes_wrong_is_told_and_may_be_tried_again(
    fault: Exception, kind: type[HeelstampError], words: str
) -> None:
    def fails(_tell: Progress) -> None:
        raise fault

    jobs = Jobs(NARROW)
    failed = ended(jobs, compare(jobs, fails))
    assert failed.standing == "failed"
    assert failed.error is not None
    with pytest.raises(kind, match=words):
        raise failed.error
    assert ended(jobs, compare(jobs, lambda _tell: "found")).result == "found"
    jobs.close()


def test_only_the_last_results_are_remembered() -> None:
    jobs = Jobs(NARROW)
    done = [
        ended(jobs, compare(jobs, lambda _tell: "found", (str(number),)))
        for number in range(REMEMBERED + 3)
    ]
    assert [jobs.find(one.key) is not None for one in done] == [False] * 3 + [True] * REMEMBERED
    jobs.close()


def test_closing_ends_a_job_where_it_next_tells_and_lets_what_waits_go() -> None:
    jobs, second, there = Jobs(NARROW), Gate(), threading.Event()

    def long(tell: Progress) -> None:
        for k in range(100_000):
            there.set()
            tell(k, 100_000)
            threading.Event().wait(0.001)

    first = compare(jobs, long)
    compare(jobs, second, ("3", "4"))
    assert there.wait(10)
    jobs.close()
    left = jobs.find(first.key)
    assert left is not None
    assert isinstance(left.error, StoppedError)
    assert second.times == 0
    with pytest.raises(ConflictError):
        compare(jobs, second, ("5", "6"))
