"""The same casework for other programs: JSON in, JSON out, described by OpenAPI at /api.json.

Refusals are problem documents (RFC 9457). Entries carry ids given by the caller, so that what is
sent twice is entered once; a key besides (`once`) gives the same answer again. A program that is
not at the machine itself comes in by a token.
"""

from heelstamp.web.api.looking import router as looking
from heelstamp.web.api.making import router as making

ROUTERS = (looking, making)

__all__ = ["ROUTERS"]
