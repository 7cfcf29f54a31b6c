"""Work plan: what should be done to it, what it costs, and what it may change of the price."""

from heelstamp.web.screens.work_plan.routes import router

__all__ = ["router"]
