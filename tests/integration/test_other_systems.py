"""Nothing that only POSIX has is needed: a shop is made, a photograph read, a report typeset.

The modules are hidden from the program alone, in this process and in the ones it starts, since the
interpreter's own library needs them here. What of ``os`` and ``signal`` other systems lack is found
by ``mypy --platform win32`` (``make check``), which knows from typeshed what each of them has.
"""

import os
import subprocess
import sys
from pathlib import Path

from fakes.web_shop import jpeg

HIDING = """
import builtins, os
HIDDEN = {"resource", "fcntl", "pwd", "grp", "termios", "pty", "tty", "syslog", "posix", "readline"}
theirs = builtins.__import__

def hiding(name, globals=None, *rest, **more):
    asked = (globals or {}).get("__name__", "")
    if name in HIDDEN and asked.partition(".")[0] == "heelstamp":
        with open(os.path.join(os.path.dirname(__file__), "asked"), "a") as file:
            file.write(f"{asked} {name}\\n")
        raise ImportError(f"no module named {name} on this system")
    return theirs(name, globals, *rest, **more)

builtins.__import__ = hiding
import multiprocessing.context
multiprocessing.context._concrete_contexts.pop("forkserver", None)
"""
ACT = """
import sys
from pathlib import Path
from starlette.testclient import TestClient
from heelstamp.media.decoding import read_photograph
from heelstamp.media.turns import turns_of_user
from heelstamp.shop import create_shop
from heelstamp.shop.redating import _processes
from heelstamp.web import create_app

shop, photograph = Path(sys.argv[1]), Path(sys.argv[2])
create_shop(shop, name="Own", currency="USD").close()
assert read_photograph(photograph.read_bytes(), "a.jpg").width == 640
with turns_of_user().waited_for(5.0):
    pass
assert _processes().get_start_method() == "spawn"
with TestClient(create_app(shop), base_url="http://localhost:8756") as bench:
    assert bench.get("/").status_code == 200
print("done")
"""


def test_what_only_posix_has_is_not_needed(tmp_path: Path) -> None:
    (tmp_path / "sitecustomize.py").write_text(HIDING)
    (tmp_path / "a.jpg").write_bytes(jpeg())
    asked = tmp_path / "asked"
    env = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join([str(tmp_path), *(one for one in sys.path if one)]),
    }
    command = [sys.executable, "-c", ACT, str(tmp_path / "shop"), str(tmp_path / "a.jpg")]
    done = subprocess.run(
        command, env=env, cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.stdout == "done\n", done.stderr
    hidden = {line.split()[1] for line in asked.read_text().splitlines()}
    assert hidden == {"resource", "fcntl"}  # the test hides what the program would use
