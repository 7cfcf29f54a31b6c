"""A DNG written value by value: DNG 1.4 (Adobe 2012) with the colour matrix of sRGB."""

import struct

import numpy as np

BLACK, WHITE = 256, 4095 * 4
# CIE XYZ to linear sRGB, D65 (IEC 61966-2-1)
MATRIX = (
    3.2404542,
    -1.5371385,
    -0.4985314,
    -0.9692660,
    1.8760108,
    0.0415560,
    0.0556434,
    -0.2040259,
    1.0572252,
)


def dng(light, *, orientation=1):
    """Write linear light (h, w, 3) as a DNG with an RGGB filter array, 16 bits, not compressed."""
    h, w = light.shape[:2]
    mosaic = light[..., 1].copy()
    mosaic[0::2, 0::2], mosaic[1::2, 1::2] = light[0::2, 0::2, 0], light[1::2, 1::2, 2]
    values = np.round(BLACK + mosaic * (WHITE - BLACK)).astype("<u2").tobytes()
    rational = b"".join(struct.pack("<ii", round(v * 1e6), 1_000_000) for v in MATRIX)
    tags = [
        (254, 4, [0]),
        (256, 4, [w]),
        (257, 4, [h]),
        (258, 3, [16]),
        (259, 3, [1]),
        (262, 3, [32803]),
        (271, 2, b"Bench\0"),
        (272, 2, b"Drawn\0"),
        (273, 4, [None]),
        (274, 3, [orientation]),
        (277, 3, [1]),
        (278, 4, [h]),
        (279, 4, [len(values)]),
        (284, 3, [1]),
        (33421, 3, [2, 2]),
        (33422, 1, bytes([0, 1, 1, 2])),
        (50706, 1, bytes([1, 4, 0, 0])),
        (50707, 1, bytes([1, 1, 0, 0])),
        (50708, 2, b"Bench Drawn\0"),
        (50714, 3, [BLACK]),
        (50717, 4, [WHITE]),
        (50721, 10, rational),
        (50728, 5, struct.pack("<6I", 1, 1, 1, 1, 1, 1)),
        (50778, 3, [21]),
    ]
    size = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 10: 8}
    extra_at = 8 + 2 + 12 * len(tags) + 4
    extra, rows = b"", []
    for tag, kind, value in tags:
        if isinstance(value, bytes):
            packed, count = value, len(value) // size[kind]
        else:
            form = {3: "H", 4: "I"}[kind]
            packed = struct.pack(f"<{len(value)}{form}", *[v or 0 for v in value])
            count = len(value)
        rows.append([tag, kind, count, packed])
    for row in rows:
        if len(row[3]) > 4:
            place = struct.pack("<I", extra_at + len(extra))
            extra += row[3] + b"\0" * (len(row[3]) % 2)
            row[3] = place
    for row in rows:
        if row[0] == 273:
            row[3] = struct.pack("<I", extra_at + len(extra))
    body = b"".join(struct.pack("<HHI", *row[:3]) + row[3].ljust(4, b"\0") for row in rows)
    head = b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", len(tags))
    return head + body + struct.pack("<I", 0) + extra + values
