"""Pictures as an owner would send them, drawn, and a mail that brings them."""

from __future__ import annotations

import io
from collections.abc import Mapping
from email.message import EmailMessage

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

GROUND, WOOD = (176, 172, 165), (96, 52, 24)


def picture(
    *,
    size: tuple[int, int] = (2400, 1800),
    fills: tuple[float, float] = (0.86, 0.62),
    blur: float = 0.0,
    light: float = 1.0,
    shade: int = 0,
) -> bytes:
    """A block of wood with edges on it, on a plain cloth.

    Parameters
    ----------
    fills
        Shares of width and height that the block spans; 1 or more runs out of the picture.
    light
        Factor on every code value.
    shade
        Makes one picture another file than the next.
    """
    width, height = size
    made = Image.new("RGB", size, tuple(one - shade for one in GROUND))
    wide, high = fills[0] * width, fills[1] * height
    box = [(width - wide) / 2, (height - high) / 2, (width + wide) / 2, (height + high) / 2]
    pen = ImageDraw.Draw(made)
    pen.rectangle(box, fill=WOOD)
    for step in range(1, 14):
        left = box[0] + step * wide / 14
        pen.rectangle((left, box[1] + 10, left + wide / 40, box[3] - 10), fill=(205, 190, 150))
    if blur:
        made = made.filter(ImageFilter.GaussianBlur(blur))
    pixels = np.clip(np.asarray(made, dtype=float) * light, 0, 255).astype(np.uint8)
    written = io.BytesIO()
    Image.fromarray(pixels).save(written, "JPEG", quality=88)
    return written.getvalue()


def mail(text: str, pictures: Mapping[str, bytes]) -> bytes:
    """A mail with pictures on it, as a mail program saves it."""
    message = EmailMessage()
    message["From"], message["Subject"] = "an owner <owner@example.org>", "Re: your guitar"
    message.set_content(text)
    for name, data in pictures.items():
        message.add_attachment(data, maintype="image", subtype="jpeg", filename=name)
    return bytes(message)
