"""What is handed out, measured: changed bytes found, time to check a file, time of a large pack.

Usage: ``python benchmarks/handed_out.py [--flips 2000] [--gigabytes 1]``. The shop is made here,
with invented entries; its photographs are noise, so that nothing compresses them.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

from heelstamp.archive.signed import SignatureFault, read_signature
from heelstamp.casework.dossier import attach_photograph, open_with
from heelstamp.shop import create_shop, now
from heelstamp.shop.handed_out import Known, check_file
from heelstamp.shop.issuing import issue
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.pack import make_pack

TAG, BY, SEED = "H-0001", "examiner A", 20261201
INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
    "tag": TAG,
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--flips", type=int, default=2000)
    parser.add_argument("--gigabytes", type=float, default=1.0)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        paper = stocked(place / "shop", asked.gigabytes)
        (place / "report.pdf").write_bytes(paper)
        flips(paper, asked.flips)
        started(place / "report.pdf")
        large(place)


def stocked(folder: Path, gigabytes: float) -> bytes:
    """Make a shop with that much of photographs; give the report it issued to a buyer."""
    drawn = np.random.default_rng(SEED)
    with create_shop(folder, name="Measured", currency="USD") as shop:
        open_with(shop, [("instrument", INSTRUMENT)], at=now(), by=BY)
    kept = 0
    with OpenShop(folder) as shop:
        paper = shop.files.get(issue(shop, TAG, "buyer", id_="a", by=BY))
        while kept < gigabytes * 1e9:
            pixels = drawn.integers(0, 256, (3000, 4000, 3), dtype=np.uint8)
            path = folder.parent / "one.jpg"
            Image.fromarray(pixels).save(path, "JPEG", quality=92)
            data = path.read_bytes()
            details = {"id": f"F{kept // 1_000_000:04}", "part": "body"}
            attach_photograph(shop, TAG, data, details, at=now(), by=BY)
            kept += len(data)
    print(f"photographs kept: {kept / 1e9:.2f} GB")
    return paper


def flips(paper: bytes, count: int) -> None:
    drawn, missed, begun = random.Random(SEED), 0, time.perf_counter()  # noqa: S311
    for number in range(count):
        place = drawn.randrange(len(paper)) if number % 4 else paper.index(b"/Contents <") + number
        changed = bytearray(paper)
        changed[place] ^= 1 << drawn.randrange(8)
        missed += holds(bytes(changed))
    each = (time.perf_counter() - begun) / count
    appended = sum(holds(paper + more) for more in (b" ", b"\n", b"%%EOF\n", b"x" * 999))
    print(f"{count} changed bits: {missed} missed, {each * 1e3:.1f} ms each; appended: {appended}")


def holds(pdf: bytes) -> bool:
    try:
        read_signature(pdf)
    except SignatureFault:
        return False
    return True


def started(paper: Path) -> None:
    """Time of the whole command, process and all, and of the check alone."""
    command = [sys.executable, "-m", "heelstamp", "verify", str(paper)]
    taken = []
    for _ in range(5):
        begun = time.perf_counter()
        subprocess.run(command, check=False, capture_output=True, cwd=paper.parent)  # noqa: S603
        taken.append(time.perf_counter() - begun)
    begun = time.perf_counter()
    check_file(paper, Known())
    alone = time.perf_counter() - begun
    print(f"verify of a paper of {paper.stat().st_size / 1e6:.1f} MB: command {min(taken):.2f} s, "
          f"check alone {alone:.3f} s")  # fmt: skip


def large(place: Path) -> None:
    with OpenShop(place / "shop") as shop:
        for name in ("pack", "pack.zip"):
            begun = time.perf_counter()
            made = make_pack(shop, TAG, "shop", place / name)
            taken = time.perf_counter() - begun
            print(f"{name} for the shop, {made.size / 1e9:.2f} GB: {taken:.1f} s")
        begun, busy = time.perf_counter(), time.process_time()
        made = make_pack(shop, TAG, "public", place / "public.zip")
        taken, busy = time.perf_counter() - begun, time.process_time() - busy
        print(f"public pack of the same, {made.size / 1e9:.2f} GB: {taken:.1f} s ({busy:.1f} s of "
              "this process)")  # fmt: skip
    begun = time.perf_counter()
    verdicts = {one.verdict.said for one in check_file(place / "pack.zip", Known())}
    print(f"verify of that pack: {time.perf_counter() - begun:.1f} s, {verdicts}")


if __name__ == "__main__":
    main()
