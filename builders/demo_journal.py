"""Write the journal of the demonstration, what is drawn on its UV pairs, and two examinations.

The journal holds the entries before they are numbered and chained, one JSON object a line, in
the order of the work; ``heelstamp demo`` enters them. Each brings its seed (journal form 2): made
from a counter, so that the file is the same in every run. These seeds are not secret, as nothing
of the demonstration is; the seeds of a shop's own entries are drawn from the system's generator.
Everything in it is invented: maker, model, marks, readings, people. Run ``demo_photographs.py`` and
``demo_recordings.py`` first: the entries carry the digest of each made picture and recording.

    python builders/demo_journal.py [--check]
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
from pathlib import Path

from PIL import Image

from demo import bench, door, drawn, look, money, opening
from demo.examination import MEASURED, OUTSIDE, examination
from demo.frames import FRAMES
from demo.takes import TAKES
from demo.telling import Entry, Picture

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "src" / "heelstamp" / "reference" / "demo"
INVENTED = "Everything in this file is invented: maker, model, marks and readings."


def pictures() -> dict[str, Picture]:
    """Take digest and size from the made photographs."""
    found: dict[str, Picture] = {}
    for frame in FRAMES:
        path = DEMO / "photographs" / frame.name
        data = path.read_bytes()
        with Image.open(path) as image:
            width, height = image.size
        found[frame.id] = {
            "sha256": hashlib.sha256(data).hexdigest(),
            "width": width,
            "height": height,
            "media_type": "image/jpeg",
        }
    for take in TAKES:
        data = (DEMO / "recordings" / take.name).read_bytes()
        found[take.id] = {"sha256": hashlib.sha256(data).hexdigest()}
    return found


def journal() -> list[Entry]:
    """Tell the whole stay, door to store."""
    made = pictures()
    days = (
        door.door,
        look.outside,
        look.lamp,
        opening.guard,
        opening.neck,
        bench.reassembly,
        bench.setup,
        money.money,
    )
    entries = [entry for day in days for entry in day(made)]
    return [{**entry, "seed": seed(number)} for number, entry in enumerate(entries, start=1)]


def seed(number: int) -> str:
    """Make the seed of one entry, in hexadecimal; it is no secret."""
    return hashlib.sha256(f"heelstamp demonstration, entry {number}".encode()).hexdigest()


def files() -> dict[Path, str]:
    """Every file this builder answers for, with its text."""
    entries = journal()
    lines = "".join(json.dumps(entry, ensure_ascii=False) + "\n" for entry in entries)
    whole = f"A whole examination, strings, guard and neck off.\n{INVENTED}"
    outside = f"What is seen from outside, nothing touched.\n{INVENTED}"
    return {
        DEMO / "wherry-s10350.jsonl": lines,
        DEMO / "pairs.json": json.dumps(drawn.pairs(), indent=1) + "\n",
        DEMO / "masks-front.json": drawn.masks(behind=False),
        DEMO / "masks-back.json": drawn.masks(behind=True),
        ROOT / "examples" / "wherry-s10350.toml": examination(whole, entries, None, MEASURED),
        ROOT / "examples" / "outside-only.toml": examination(outside, entries, OUTSIDE, ()),
    }


def main(arguments: list[str]) -> int:
    """Write, or with ``--check`` compare; return a process exit code."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare only; 1 when out of date")
    check = parser.parse_args(arguments).check
    stale = [
        path
        for path, text in files().items()
        if not path.exists() or path.read_text("utf-8") != text
    ]
    if not check:
        for path in stale:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(files()[path], encoding="utf-8", newline="\n")
    for path in stale:
        print(f"{'out of date' if check else 'written'}: {path.relative_to(ROOT)}")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
