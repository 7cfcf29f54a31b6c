"""Begin: a new shop's first page, which offers the invented demonstration or a first dossier."""

from heelstamp.web.screens.first_run.routes import router

__all__ = ["router"]
