"""First look: tap the drawing, or a part's name, and say what is seen. One tap is one entry."""

from heelstamp.web.screens.first_look.routes import router

__all__ = ["router"]
