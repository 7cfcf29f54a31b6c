"""Next look: the next layer, with its gain, its risk and the owner's word; or stop, and why."""

from heelstamp.web.screens.next_look.routes import router

__all__ = ["router"]
