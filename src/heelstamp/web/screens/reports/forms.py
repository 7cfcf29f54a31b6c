"""Forms of Reports."""

from __future__ import annotations

from fastapi import UploadFile

from heelstamp.web.forms import EntryForm, Sent, Word


class Issue(EntryForm):
    """For whom a report is issued."""

    reader: Word


class Check(Sent):
    """A report that came back."""

    paper: UploadFile
