"""Cover: what lies where tonight, against the limit of its cover."""

from heelstamp.web.screens.cover.routes import router

__all__ = ["router"]
