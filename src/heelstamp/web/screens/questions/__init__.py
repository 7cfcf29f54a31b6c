"""Questions: what a buyer asks, its answer with frame numbers, or a task."""

from heelstamp.web.screens.questions.routes import router

__all__ = ["router"]
