"""Names that are kept: of whom, why, until when; erased by the owner."""

from heelstamp.web.screens.persons.routes import router

__all__ = ["router"]
