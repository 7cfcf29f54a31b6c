"""The page for programs: what can be asked of the API, and by whom."""

from heelstamp.web.screens.programs.routes import router

__all__ = ["router"]
