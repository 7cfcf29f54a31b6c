"""A process of its own that enters observations one by one: ``FOLDER TAG NAME COUNT``."""

import sys
from pathlib import Path

from heelstamp.casework.dossier import append
from heelstamp.shop import now, open_shop


def main(folder: str, tag: str, name: str, count: str) -> None:
    """Enter *count* observations, each under an id of its own."""
    with open_shop(Path(folder)) as shop:
        print("ready", flush=True)
        sys.stdin.readline()
        for number in range(int(count)):
            body = {"id": f"{name}-{number}", "part": "body", "kind": "mark", "status": "absent"}
            append(shop, tag, "observation", body, at=now(), by="examiner A")
    print("done", flush=True)


main(*sys.argv[1:])
