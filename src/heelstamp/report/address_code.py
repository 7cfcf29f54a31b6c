"""An address of this bench as a QR code (ISO/IEC 18004), drawn as SVG for a screen.

Error correction L: it is read off a clean screen at arm's length, and fewer modules are larger.
"""

from __future__ import annotations

import segno


def address_code_svg(address: str, title: str = "Address for pairing, as a QR code") -> str:
    """Draw the code of *address*."""
    code = segno.make(address, micro=False, error="l", boost_error=False)
    return code.svg_inline(scale=4, border=4, title=title, omitsize=True)


def address_code_text(address: str) -> str:
    """Draw the code of *address* for a terminal, in half blocks."""
    code = segno.make(address, micro=False, error="l", boost_error=False)
    rows = [bytes(row) for row in code.matrix_iter(border=2)]
    rows += [bytes(len(rows[0]))] * (len(rows) % 2)
    # light modules are drawn, so that the code reads on a dark ground
    signs = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return "\n".join("".join(signs[one] for one in zip(*both, strict=True)) for both in pairs)
