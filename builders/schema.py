"""Write docs/schema/*.json from the types, or with --check tell whether they still agree."""

import json
import sys
from pathlib import Path

from heelstamp.casework.schemas import examination_schema, journal_schema

FOLDER = Path(__file__).parent.parent / "docs" / "schema"


def main(arguments: list[str]) -> int:
    """Write or check each schema; return a process exit code."""
    stale = 0
    for name, schema in (
        ("examination-2.json", examination_schema()),
        ("journal-2.json", journal_schema()),
    ):
        path = FOLDER / name
        text = json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
        if "--check" in arguments:
            if not path.exists() or path.read_text("utf-8") != text:
                print(f"{path.name} lags behind the types. Run: python builders/schema.py")
                stale += 1
        else:
            FOLDER.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
