"""Judgements of a sent picture on real photographs, as they are and spoilt on purpose.

``python benchmarks/usable_pictures.py --textures FOLDER``; by default the two photographs that
scikit-learn carries. Each is judged as it is, blurred by 3.5 px, drawn out by 17 px as by a shaken
hand, given a twenty-fifth of its light, and four times its light; then set as a subject of known
span on cloths of other photographs, drawn pale. No setting was chosen on them.
"""

from __future__ import annotations

import argparse
import io
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from heelstamp.casework.first_call.usable import judge_picture
from heelstamp.media.photo_care import decoded_light, measure_photograph
from heelstamp.reference.first_call import load_first_call

Pixels = NDArray[np.uint8]
WIDE, TALL = 1600, 1200


def photographs(folder: Path | None) -> Iterator[tuple[str, Pixels]]:
    """Photographs of a folder, or those of scikit-learn."""
    if folder is None:
        from sklearn.datasets import load_sample_images

        found = load_sample_images()
        yield from zip(found.filenames, found.images, strict=True)
        return
    for path in sorted(one for end in ("png", "jpg") for one in folder.glob(f"*.{end}")):
        with Image.open(path) as opened:
            if min(opened.size) >= 300:
                yield path.name, np.asarray(opened.convert("RGB"))


def verdicts(pixels: Pixels, slot: str) -> dict[str, str]:
    """What is said of a picture that was sent as JPEG."""
    written = io.BytesIO()
    Image.fromarray(pixels).save(written, "JPEG", quality=92)
    measures = measure_photograph(written.getvalue(), "picture.jpg")
    judged = judge_picture(measures, load_first_call().frame(slot)).judged
    return {one.of: one.verdict for one in judged}


def lit(pixels: Pixels, share: float) -> Pixels:
    """The same with so much of its light."""
    light = np.clip(decoded_light(pixels) * share, 0, 1)
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(255 * code).astype(np.uint8)


def on_cloth(rng: np.random.Generator, subject: Pixels, cloth: Pixels, span: float) -> Pixels:
    """A long piece of one photograph, *span* of the width, on a pale one of another."""
    ground = cv2.resize(cloth, (WIDE, TALL)).astype(np.float32)
    ground = rng.uniform(90, 230, 3) + rng.uniform(0.02, 0.15) * (ground - ground.mean())
    long, high = round(span * WIDE), round(rng.uniform(0.25, 0.5) * TALL)
    piece = cv2.resize(subject, (long, high)).astype(np.float32)
    mask = np.zeros((high, long), np.uint8)
    cv2.ellipse(mask, (long // 4, high // 2), (long // 4, high // 2), 0, 0, 360, 1, -1)
    mask[round(0.42 * high) : round(0.58 * high), long // 4 :] = 1  # body and neck
    top, left = (TALL - high) // 2, (WIDE - long) // 2
    if span > 1:
        piece, mask, left = piece[:, :WIDE], mask[:, :WIDE], 0
    window = ground[top : top + high, left : left + piece.shape[1]]
    window[mask > 0] = piece[mask > 0]
    return np.clip(ground, 0, 255).astype(np.uint8)


def main() -> None:
    """Count."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--textures", type=Path)
    told = ask.parse_args()
    pictures = list(photographs(told.textures))
    counts: dict[str, Counter[str]] = {}

    def count(what: str, verdict: str) -> None:
        counts.setdefault(what, Counter())[verdict] += 1

    rng = np.random.default_rng(31)
    row = np.ones((1, 17), np.float32) / 17
    for k, (_, pixels) in enumerate(pictures):
        as_is = verdicts(pixels, "head-back")
        count("as it is: sharp", as_is["sharp"])
        count("as it is: lit", as_is["lit"])
        blurred = cv2.GaussianBlur(pixels, (0, 0), 3.5)
        count("blurred: sharp", verdicts(blurred, "head-back")["sharp"])
        shaken = cv2.filter2D(pixels, -1, row)
        count("shaken: sharp", verdicts(shaken, "head-back")["sharp"])
        count("dark: lit", verdicts(lit(pixels, 0.04), "head-back")["lit"])
        count("burnt: lit", verdicts(lit(pixels, 4.0), "head-back")["lit"])
        cloth = pictures[(k + 1) % len(pictures)][1]
        for what, span in (("whole", 0.85), ("small", 0.4), ("cut off", 1.2)):
            picture = on_cloth(rng, pixels, cloth, span)
            count(f"{what} on a cloth: framed", verdicts(picture, "overall-front")["framed"])
    print(f"{len(pictures)} photographs")
    for what, seen in counts.items():
        print(f"{what}: {', '.join(f'{verdict} {n}' for verdict, n in sorted(seen.items()))}")


if __name__ == "__main__":
    main()
