"""Screws: one picture, tap each screw; count out = count in."""

from heelstamp.web.screens.screws.routes import router

__all__ = ["router"]
