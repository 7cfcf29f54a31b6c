"""Make the virtual environment; say what to install where Python came without the means."""

import subprocess
import sys
from pathlib import Path


def main(folder: str) -> int:
    """Create *folder*; return a process exit code."""
    if sys.version_info < (3, 11):
        print(f"Heelstamp needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
        return 2
    made = subprocess.run([sys.executable, "-m", "venv", folder], check=False)  # noqa: S603
    if made.returncode:
        print("The virtual environment could not be made. On Debian: apt-get install python3-venv")
        return 2
    return 0 if (Path(folder) / "bin" / "python").exists() else 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
