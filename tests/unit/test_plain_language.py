"""The index by which sentences are measured, against its definition worked by hand."""

import pytest

from fakes.plain_language import lix


def test_the_definition_by_hand() -> None:
    # 10 words in 2 sentences, 3 of them longer than six letters: 10 / 2 + 100 * 3 / 10
    text = ["The carpenter measured the board twice. He sawed it afterwards."]
    assert lix(text) == pytest.approx(35.0)


def test_long_words_and_long_sentences_both_count() -> None:
    plain = lix(["We saw it. It was good."])
    assert lix(["We saw it and it was good."]) > plain
    assert lix(["We investigated it. It was satisfactory."]) > plain
