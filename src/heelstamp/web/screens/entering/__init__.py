"""Taking back the last entry of a hand, from every screen."""

from heelstamp.web.screens.entering.routes import router

__all__ = ["router"]
