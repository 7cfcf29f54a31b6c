"""Due: what is due in the shop, on which day, and why."""

from heelstamp.web.screens.due.routes import router

__all__ = ["router"]
