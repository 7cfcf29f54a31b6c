"""First Look: tap the drawing, or a part's name, and say what is seen."""

from heelstamp.web.screens.first_look.routes import router

__all__ = ["router"]
