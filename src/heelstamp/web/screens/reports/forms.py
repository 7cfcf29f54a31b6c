"""Forms of Reports."""

from __future__ import annotations

from typing import Literal

from fastapi import UploadFile

from heelstamp.web.forms import EntryForm, Sent, Word


class Issue(EntryForm):
    """For whom a report is issued."""

    reader: Word


class IssueForm(EntryForm):
    """Which other paper is issued, in which unit of lengths."""

    paper: Word
    lengths: Literal["mm", "in"] = "mm"
    single: bool = False


class Check(Sent):
    """A report that came back."""

    paper: UploadFile
