"""Forms of Reports."""

from __future__ import annotations

from typing import Literal

from fastapi import UploadFile

from heelstamp.web.forms import EntryForm, Id, Sent, Word


class Issue(EntryForm):
    """For whom a report is issued."""

    reader: Word


class IssueForm(EntryForm):
    """Which other paper is issued, in which unit of lengths."""

    paper: Word
    lengths: Literal["mm", "in"] = "mm"
    single: bool = False


class Words(EntryForm):
    """Whether the words of an entry may go to outsiders; *reader* is whose paper was looked at."""

    entry: Id
    public: bool
    reader: Word = ""


class Check(Sent):
    """A file that came back."""

    paper: UploadFile
