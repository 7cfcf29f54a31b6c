"""The tag of a dossier as a QR code (ISO/IEC 18004), drawn as SVG.

Error correction M: the printed tag hangs in a workshop. The code holds the tag and nothing else: no
address, so that it stays good wherever the shop's program runs.
"""

from __future__ import annotations

import segno


def tag_code_svg(tag: str) -> str:
    """Draw the code of *tag*."""
    code = segno.make(tag, micro=False, error="m")
    return code.svg_inline(scale=4, border=4, title=f"Tag {tag} as a QR code", omitsize=True)
