"""Install a hashed lock and this package into the virtual environment: uv first, pip if need be."""

import subprocess
import sys
from pathlib import Path


def run(*command: str) -> bool:
    """Run *command* quietly; tell whether it succeeded."""
    return subprocess.run(command, check=False).returncode == 0  # noqa: S603


def main(folder: str, lock: str) -> int:
    """Install *lock* into *folder*; return a process exit code."""
    python = str(Path(folder) / "bin" / "python")
    uv = str(Path(folder) / "bin" / "uv")
    quiet = ("--quiet", "--disable-pip-version-check", "--no-input")
    if not Path(uv).exists():
        run(python, "-m", "pip", "install", *quiet, "--require-hashes", "-r", "requirements/uv.txt")
    locked = ("--require-hashes", "-r", lock)
    package = ("--no-deps", "--no-build-isolation", "-e", ".")
    fast = (uv, "pip", "install", "--quiet", "--compile-bytecode", "--python", python)
    slow = (python, "-m", "pip", "install", *quiet)
    installers = (fast, slow) if Path(uv).exists() else (slow,)
    for installer in installers:
        if run(*installer, *locked) and run(*installer, *package):
            # bytecode now: a command starts in half the time, also where none may be written later
            return 0 if run(python, "-m", "compileall", "-q", "src") else 1
    print(f"The packages of {lock} could not be installed. Is the package index reachable?")
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2]))
