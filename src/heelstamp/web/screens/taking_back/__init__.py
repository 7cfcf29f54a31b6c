"""The last entry of a hand can be taken back, from every screen."""

from heelstamp.web.screens.taking_back.routes import router

__all__ = ["router"]
