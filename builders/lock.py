"""Renew requirements/*.txt from pyproject.toml: hashed, for every platform, without addresses."""

import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

BUILD = ["hatchling>=1.27", "editables>=0.5"]


def main() -> int:
    """Write one lock per use: run, server, test, bench (each holds run), audit, and uv."""
    project = tomllib.loads(Path("pyproject.toml").read_text("utf-8"))
    groups = project["dependency-groups"]
    run = [*project["project"]["dependencies"], *BUILD]
    extras = project["project"]["optional-dependencies"]
    wanted = {
        "run": run,
        "server": [*run, *extras["server"]],
        "test": [*run, *groups["test"]],
        "bench": [*run, *groups["test"], *groups["bench"]],
        "audit": groups["audit"],
        "uv": ["uv"],
    }
    for name, lines in wanted.items():
        with tempfile.NamedTemporaryFile("w", suffix=".in") as source:
            source.write("\n".join(lines) + "\n")
            source.flush()
            command = ["uv", "pip", "compile", "--quiet", "--generate-hashes", "--universal"]
            command += ["--python-version", "3.11", "--no-header", "--no-annotate"]
            command += ["--no-emit-index-url", "--no-emit-find-links"]
            command += [source.name, "-o", f"requirements/{name}.txt"]
            subprocess.run(command, check=True)  # noqa: S603
    return 0


if __name__ == "__main__":
    sys.exit(main())
