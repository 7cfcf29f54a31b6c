"""The engine is quick to import: a reading from the shell must not wait for arrays."""

import subprocess
import sys


def test_marks_import_without_numpy():
    code = "import sys, heelstamp.marks; print('numpy' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
