"""Recordings: a plucked note and its pitch, a control's noise, spoken notes, and playing them."""

from heelstamp.web.screens.recordings.routes import router

__all__ = ["router"]
