"""New: opening the dossier of an instrument that was just handed over."""

from heelstamp.web.screens.new_dossier.routes import router

__all__ = ["router"]
