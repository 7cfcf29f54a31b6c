"""Spreadsheet: a person's table looked at before it is taken, and the shop's tables out."""

from heelstamp.web.screens.spreadsheet.routes import router

__all__ = ["router"]
