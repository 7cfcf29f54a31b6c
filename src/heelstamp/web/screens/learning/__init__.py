"""The census of a maker: rows taken in, change-overs learned from it, conclusions made again."""

from heelstamp.web.screens.learning.routes import router

__all__ = ["router"]
