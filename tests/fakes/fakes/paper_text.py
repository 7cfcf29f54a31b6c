"""What a person can read on the pages of a paper."""

from __future__ import annotations

import io
import re

import pikepdf


def text_of(paper: bytes, pages: slice = slice(None)) -> str:
    """Every letter drawn on the pages, by way of each font's own table of characters."""
    with pikepdf.open(io.BytesIO(paper)) as opened:
        out = []
        for page in list(opened.pages)[pages]:
            fonts = {}
            for name, font in page.Resources.Font.items():
                cmap = font.ToUnicode.read_bytes().decode("latin-1")
                fonts[name] = _mapping(cmap)
            font = {}
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) == "Tf":
                    font = fonts[str(operands[0])]
                elif str(operator) in ("Tj", "TJ"):
                    shown = operands[0] if str(operator) == "TJ" else [operands[0]]
                    for one in shown:
                        if isinstance(one, pikepdf.String):
                            raw = bytes(one)
                            codes = (raw[i : i + 2].hex() for i in range(0, len(raw), 2))
                            out.append("".join(font.get(code, "?") for code in codes))
        return "".join(out)


def _mapping(cmap: str) -> dict[str, str]:
    pairs = {}
    for block in re.findall(r"beginbfchar(.*?)endbfchar", cmap, re.DOTALL):
        for code, told in re.findall(r"<([0-9a-fA-F]+)>\s*<([0-9a-fA-F]+)>", block):
            pairs[code.lower()] = bytes.fromhex(told).decode("utf-16-be")
    return pairs
