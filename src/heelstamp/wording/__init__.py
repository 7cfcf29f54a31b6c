"""Strength of evidence into sentences: the ladder, the rules, the banned words, the sentences."""

from heelstamp.wording.banned import BannedWordsError, find_banned, refuse_banned
from heelstamp.wording.rules import RULES, rule
from heelstamp.wording.sentences import Grounds, Sentence, Statement, sentence
from heelstamp.wording.strength import Support, percent, probability_word, support

__all__ = [
    "RULES",
    "BannedWordsError",
    "Grounds",
    "Sentence",
    "Statement",
    "Support",
    "find_banned",
    "percent",
    "probability_word",
    "refuse_banned",
    "rule",
    "sentence",
    "support",
]
