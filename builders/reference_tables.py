"""Renew the descriptor of the reference tables after an edit; ``--check`` only compares.

    python builders/reference_tables.py [--check]

Prose, units and sources in ``datapackage.json`` are written by hand. This script sets bytes, rows
and SHA-256 of each table, and refuses a table that breaks a rule of the house: columns as
described, no file undescribed, every ``evidence = yes`` row with a key of the bibliography, every
row without a key marked as from memory.
"""

from __future__ import annotations

import csv
import hashlib
import json
import re
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
TABLES = ROOT / "src" / "heelstamp" / "reference" / "tables"
BIBLIOGRAPHY = ROOT / "docs" / "bibliography.bib"


def faults(resource: dict[str, Any], keys: set[str], tables: Path) -> list[str]:
    """Say what is wrong with one table."""
    name = resource["name"]
    path = tables / f"{name}.csv"
    if not path.is_file():
        return [f"{name}: no such file"]
    with path.open(encoding="utf-8", newline="") as stream:
        reader = csv.DictReader(stream)
        rows = list(reader)
        header = list(reader.fieldnames or ())
    described = [field["name"] for field in resource["schema"]["fields"]]
    if header != described:
        return [f"{name}: columns {header} are described as {described}"]
    found = []
    for number, row in enumerate(rows, start=2):
        where = f"{name}, line {number}"
        key = row["source"]
        if key and key not in keys:
            found.append(f"{where}: {key} is not in the bibliography")
        if row.get("evidence") == "yes" and not key:
            found.append(f"{where}: evidence without a source")
        if row.get("evidence") == "yes" and row["status"].startswith("from memory"):
            found.append(f"{where}: evidence from memory")
        if not key and not row["status"].startswith("from memory"):
            found.append(f"{where}: no source, and not marked as from memory")
    listed = {source["title"] for source in resource["sources"]}
    used = {row["source"] for row in rows if row["source"]}
    if listed != used:
        found.append(
            f"{name}: sources described {sorted(listed - used)}, used {sorted(used - listed)}"
        )
    return found


def renewed(resource: dict[str, Any], tables: Path) -> dict[str, Any]:
    """The description of one table with bytes, rows and checksum as they are."""
    data = (tables / f"{resource['name']}.csv").read_bytes()
    rows = len(list(csv.reader(data.decode("utf-8").splitlines()))) - 1
    digest = "sha256:" + hashlib.sha256(data).hexdigest()
    return {**resource, "rows": rows, "bytes": len(data), "hash": digest}


def main(arguments: list[str], tables: Path = TABLES, bibliography: Path = BIBLIOGRAPHY) -> int:
    """Renew or check the descriptor; give the exit code."""
    path = tables / "datapackage.json"
    before = path.read_text(encoding="utf-8")
    package = json.loads(before)
    keys = set(
        re.findall(r"^@\w+\{([^,\s]+),", bibliography.read_text(encoding="utf-8"), re.MULTILINE)
    )
    described = {resource["name"] for resource in package["resources"]}
    problems = [
        f"{one.name} is not described" for one in tables.glob("*.csv") if one.stem not in described
    ]
    for resource in package["resources"]:
        problems += faults(resource, keys, tables)
    if problems:
        print("\n".join(problems), file=sys.stderr)
        return 1
    package["resources"] = [renewed(resource, tables) for resource in package["resources"]]
    after = json.dumps(package, indent=1, ensure_ascii=False) + "\n"
    if "--check" in arguments:
        if after != before:
            print(
                "datapackage.json is not up to date: run builders/reference_tables.py",
                file=sys.stderr,
            )
            return 1
        return 0
    path.write_text(after, encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
