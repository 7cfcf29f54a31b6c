"""The bench in a browser: pages drawn on the server, for one thumb and without internet.

Nothing here computes: screens ask the desk and casework, templates show the answer.
"""

from heelstamp.web.app import create_app

__all__ = ["create_app"]
