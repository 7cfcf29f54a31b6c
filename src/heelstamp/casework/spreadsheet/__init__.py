"""Spreadsheets as people have them: how one is to be read, what was understood, and tables out."""
