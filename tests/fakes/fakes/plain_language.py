"""LIX, an index of how plain a text is, by its published definition.

C. H. Björnsson, *Läsbarhet* (Liber, Stockholm 1968); in English: "Readability of Newspapers in 11
Languages", *Reading Research Quarterly* 18 (1983) 480-497. LIX is words a sentence plus the per
cent of words of more than six letters. About 25 is a children's book, 35 fiction, 45 a newspaper,
55 an official text, over 60 a bureaucrat's (bands from memory). A colon ends a sentence, as it does
there.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

LONG = 7
"""Letters of a long word, or more."""


def lix(sentences: Sequence[str]) -> float:
    """The index of several sentences; numbers are no words."""
    parts = [part for one in sentences for part in re.split(r"[.:!?](?:\s|$)", one)]
    words = [re.findall(r"[^\W\d_]+", part) for part in parts]
    counted = [one for one in words if one]
    every = [word for one in counted for word in one]
    long = sum(len(word) >= LONG for word in every)
    return len(every) / len(counted) + 100 * long / len(every)
