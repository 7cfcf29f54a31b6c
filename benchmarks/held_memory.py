"""Memory that a bench holds after a day on the demonstration, in a process of its own.

The demonstration is brought in, every screen of it is opened, its reports are typeset and a pair is
compared again, as requests and jobs of one server; then freed memory is given back once, as the
server does each minute. Linux only: what is held is ``VmRSS`` of ``/proc/self/status`` (proc(5)).
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from results import Result

SCREENS = (
    "", "first-look", "photographs", "uv-lamp", "screws", "findings", "next-look", "wording",
    "work", "setup", "money", "questions", "reports",
)  # fmt: skip
WAIT_S = 600.0


def measure() -> Iterator[Result]:
    """Run the day and tell what was held."""
    done = subprocess.run(  # noqa: S603
        [sys.executable, __file__, "--here"], check=True, capture_output=True, text=True
    )
    held = json.loads(done.stdout)
    yield Result(
        "held by a server after a day on the demonstration",
        held["after"],
        "MB",
        ("at most", 300),
        f"{held['begun']:.0f} MB when its first page was shown; at most {held['most']:.0f} MB, "
        "while two pairs were compared at once",
    )


def held_now(field: str = "VmRSS") -> float:
    """Megabytes of this process."""
    for line in Path("/proc/self/status").read_text("ascii").splitlines():
        if line.startswith(field + ":"):
            return int(line.split()[1]) / 1000
    raise LookupError(field)


def day(folder: Path) -> dict[str, float]:
    """Pass the day on a shop made in *folder*."""
    from starlette.testclient import TestClient

    from heelstamp.casework.finish import PairRequest, read_masks
    from heelstamp.reference.demonstration import demo_pairs
    from heelstamp.shop import create_shop
    from heelstamp.shop.demonstration import DEMO_TAG, begin_demonstration, demonstration_job
    from heelstamp.shop.finish import compare_pair, load_pair
    from heelstamp.shop.freed_memory import give_back
    from heelstamp.shop.reports import typeset_report
    from heelstamp.web import create_app

    create_shop(folder, name="Test shop", currency="USD").close()
    app = create_app(folder)
    with TestClient(app, base_url="http://localhost") as bench:
        bench.get("/").raise_for_status()
        begun, shop = held_now(), app.state.shop
        begin_demonstration(shop)
        job = demonstration_job(shop)
        assert job is not None
        assert shop.jobs.wait(job, WAIT_S).standing == "done"
        for screen in SCREENS:
            bench.get(f"/dossier/{DEMO_TAG}/{screen}".rstrip("/")).raise_for_status()
        for reader in ("consignor", "buyer", "insurer"):
            typeset_report(shop.subject(DEMO_TAG), reader, at="2026-12-01T10:00:00Z")
        one = demo_pairs()[0]
        pair = load_pair(shop, f"{DEMO_TAG}:{one.visible}", f"{DEMO_TAG}:{one.uv}")
        masks = read_masks(one.masks, one.masks_name)
        request = PairRequest.of(masks=masks, ruler=one.ruler, greys=one.greys)
        compare_pair(pair.visible.file, pair.uv.file, request)
        del pair
        give_back()
        return {"begun": begun, "after": held_now(), "most": held_now("VmHWM")}


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as private:
        print(json.dumps(day(Path(private) / "shop")))
