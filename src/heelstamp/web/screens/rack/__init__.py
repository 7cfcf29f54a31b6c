"""Rack: what hangs in the shop, where each stands, what is due."""

from heelstamp.web.screens.rack.routes import router

__all__ = ["router"]
