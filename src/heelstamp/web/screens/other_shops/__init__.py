"""What is learned together with other shops: tables handed out, taken, joined; sums under masks."""

from heelstamp.web.screens.other_shops.routes import router

__all__ = ["router"]
