"""What is remembered: made once, within its bound, whole under several threads."""

import threading

from heelstamp.shop.memo import Memo


def test_what_was_made_is_not_made_again() -> None:
    memo, made = Memo(2), []

    def make() -> int:
        made.append(1)
        return len(made)

    assert [memo.get("a", make), memo.get("a", make)] == [1, 1]
    assert "a" in memo
    assert "b" not in memo


def test_what_was_asked_for_last_stays_within_the_bound_of_sizes() -> None:
    memo = Memo(10, len)
    for key in ("a", "b"):
        memo.get(key, lambda: b"1234")
    memo.get("a", lambda: b"")
    memo.get("c", lambda: b"1234")
    assert ["a" in memo, "b" in memo, "c" in memo] == [True, False, True]


def test_what_is_larger_than_the_bound_is_given_and_not_kept() -> None:
    memo = Memo(3, len)
    assert memo.get("a", lambda: b"1234") == b"1234"
    assert "a" not in memo


def test_one_at_a_time_makes_large_things_one_after_the_other() -> None:
    memo, busy, most = Memo(8, one_at_a_time=True), [0], [0]

    def make() -> int:
        busy[0] += 1
        most[0] = max(most[0], busy[0])
        threading.Event().wait(0.005)
        busy[0] -= 1
        return 1

    threads = [threading.Thread(target=memo.get, args=(k, make)) for k in range(6)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert most == [1]
