"""Condition: where it is not whole, what changed since, and six grades."""

from heelstamp.web.screens.condition.routes import router

__all__ = ["router"]
