"""Makers: what is known of each, drawn with its census, and edited as new editions."""

from heelstamp.web.screens.makers.routes import router

__all__ = ["router"]
