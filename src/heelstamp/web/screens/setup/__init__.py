"""Tune: before, plan and after; the rod, the saddles, the strings; readings at the jack."""

from heelstamp.web.screens.setup.routes import router

__all__ = ["router"]
