"""Setup: before, plan and after; the truss rod, the saddles, the strings; readings at the jack."""

from heelstamp.web.screens.setup.routes import router

__all__ = ["router"]
