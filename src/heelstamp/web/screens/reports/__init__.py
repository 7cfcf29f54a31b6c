"""Reports: who reads it? A preview in the browser's own viewer, and reports issued for good."""

from heelstamp.web.screens.reports.routes import router

__all__ = ["router"]
