"""Entering: one tap or one form is one entry; the last entry of this hand can be taken back."""

from heelstamp.web.screens.entering.routes import router

__all__ = ["router"]
