"""``python -m heelstamp``: the command line."""

from heelstamp.cli import main

main()
