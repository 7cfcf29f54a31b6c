"""Photographs: the camera one tap away, care at once, what is missing, and each frame large."""

from heelstamp.web.screens.photographs.routes import router

__all__ = ["router"]
