"""Return check: weigh it, take the six fixed shots, say of each whether it is the same."""

from heelstamp.web.screens.return_check.routes import router

__all__ = ["router"]
