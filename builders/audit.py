"""The bill of materials, and known weaknesses of packages, by tools in an environment of their own.

``python builders/audit.py sbom`` writes sbom.json (CycloneDX) of the environment that runs the
program; ``python builders/audit.py weaknesses`` asks for known weaknesses of what the lock names,
and says so in one line where no data can be reached.
"""

from __future__ import annotations

import json
import subprocess
import sys
import venv
from pathlib import Path

TOOLS, LOCK = Path(".venv/audit"), "requirements/audit.txt"


def tool(name: str) -> str | None:
    """Path of a tool, installed from its lock at need; None where it cannot be."""
    found = TOOLS / "bin" / name
    if not found.exists():
        venv.create(TOOLS, with_pip=True)
        python = str(TOOLS / "bin" / "python")
        quiet = ("--quiet", "--disable-pip-version-check", "--require-hashes")
        install = [python, "-m", "pip", "install", *quiet, "-r", LOCK]
        if subprocess.run(install, check=False).returncode:  # noqa: S603
            print(f"skipped: the packages of {LOCK} could not be installed")
            return None
    return str(found)


def sbom() -> int:
    """Write the bill of materials."""
    maker = tool("cyclonedx-py")
    if maker is None:
        return 0
    about = ["--pyproject", "pyproject.toml", "--output-reproducible", "--of", "JSON"]
    command = [maker, "environment", ".venv/bin/python", *about, "-o", "sbom.json"]
    return subprocess.run(command, check=False).returncode  # noqa: S603


def weaknesses() -> int:
    """Ask for known weaknesses; no data is no failure."""
    asker = tool("pip-audit")
    if asker is None:
        return 0
    command = [asker, "--disable-pip", "--require-hashes", "--progress-spinner", "off"]
    command += ["-f", "json", "-r", "requirements/run.txt"]
    done = subprocess.run(command, check=False, capture_output=True, text=True)  # noqa: S603
    try:
        found = json.loads(done.stdout)["dependencies"]
    except (ValueError, KeyError):
        found = []
    asked = [one for one in found if "vulns" in one]
    if not asked:
        print("skipped: no data on known weaknesses can be reached from here")
        return 0
    weak = [(one, fault) for one in asked for fault in one["vulns"]]
    for one, fault in weak:
        better = ", ".join(fault.get("fix_versions", ())) or "none yet"
        print(f"{one['name']} {one['version']}: {fault['id']}, mended in {better}")
    print(f"{len(asked)} of {len(found)} packages were asked for, {len(weak)} known weaknesses")
    return 1 if weak else 0


if __name__ == "__main__":
    sys.exit({"sbom": sbom, "weaknesses": weaknesses}[sys.argv[1]]())
