"""The last entry of a hand can be taken back, from every screen."""

from heelstamp.web.screens.entering.routes import router

__all__ = ["router"]
