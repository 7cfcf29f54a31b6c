"""The command line: thin commands over casework; no arithmetic, exit codes in ``exits``."""

from heelstamp.cli.app import main

__all__ = ["main"]
