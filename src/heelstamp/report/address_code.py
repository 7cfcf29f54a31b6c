"""An address of this bench as a QR code (ISO/IEC 18004), drawn as SVG for a screen.

Error correction L: it is read off a clean screen at arm's length, and fewer modules are larger.
"""

from __future__ import annotations

import segno


def address_code_svg(address: str) -> str:
    """Draw the code of *address*."""
    code = segno.make(address, micro=False, error="l", boost_error=False)
    return code.svg_inline(
        scale=4, border=4, title="Address for pairing, as a QR code", omitsize=True
    )
