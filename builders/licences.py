"""Write docs/licences.md: what the program is built of and under which licences, from metadata.

The packages are those that `heelstamp` needs to run, with what they need in turn, as they are
installed in this environment. Usage: ``python builders/licences.py``.
"""

from __future__ import annotations

import tomllib
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[1]
OUT = ROOT / "docs" / "licences.md"
CLASSIFIER = "License :: OSI Approved :: "
BUNDLED = (
    ("Source Sans 3, in `report/fonts` and, cut down, in `web/static`", "OFL-1.1"),
    (
        "`reference/common_passwords.bin`: digests of common passwords, from a list of Django",
        "BSD-3-Clause",
    ),
)
HEAD = """# Licences

The program is under Apache-2.0. This list is made by `make licences` from the metadata of the
packages that it needs to run; who passes them on keeps their licence texts with them.

| package | licence, as its metadata says |
|---|---|
"""


def main() -> None:
    """Write the list."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    wanted = list(project["dependencies"])
    wanted += [one for extra in project["optional-dependencies"].values() for one in extra]
    found: dict[str, Distribution] = {}
    waiting = [Requirement(one) for one in wanted]
    while waiting:
        one = waiting.pop()
        key = one.name.lower().replace("_", "-")
        if key in found or not _holds(one, ()):
            continue
        try:
            found[key] = distribution(one.name)
        except PackageNotFoundError:
            print(f"{one.name} is not installed here and is left out")
            continue
        needs = [Requirement(text) for text in found[key].requires or ()]
        waiting += [need for need in needs if _holds(need, one.extras)]
    rows = [f"| {name} | {licence(found[name])} |" for name in sorted(found)]
    inside = [f"| {name} | {its} |" for name, its in BUNDLED]
    bundled = ["", "Within the program:", "", "| what | licence |", "|---|---|", *inside]
    OUT.write_text(HEAD + "\n".join([*rows, *bundled]) + "\n", "utf-8")
    print(f"{len(rows)} packages")


def _holds(one: Requirement, extras: tuple[str, ...] | set[str]) -> bool:
    if one.marker is None:
        return True
    return any(one.marker.evaluate({"extra": extra}) for extra in ("", *extras))


def licence(one: Distribution) -> str:
    """Licence of a package: its expression, else its classifiers, else the first line it gives."""
    told = one.metadata
    if expression := told.get("License-Expression"):
        return str(expression)
    classified = [
        text.rpartition(" :: ")[2]
        for text in told.get_all("Classifier") or ()
        if text.startswith(CLASSIFIER)
    ]
    first = str(told.get("License") or "").strip().split("\n")[0]
    return ", ".join(classified) or first[:80] or "not said"


if __name__ == "__main__":
    main()
