"""Marks: the photograph beside its readings, *illegible* as easy as a reading, a blind second."""

from heelstamp.web.screens.marks.routes import router

__all__ = ["router"]
