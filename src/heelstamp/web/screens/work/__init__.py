"""Work: what did you do to it? Six large kinds of act, and no act without before and after."""

from heelstamp.web.screens.work.routes import router

__all__ = ["router"]
