"""What README and tutorial tell a reader to type is typed here, word for word."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

ROOT = Path(__file__).parents[2]
FENCE = re.compile(r"^```(\w+)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def blocks(document: str, language: str) -> list[str]:
    """Give the fenced blocks of one language."""
    text = (ROOT / document).read_text("utf-8")
    return [body for name, body in FENCE.findall(text) if name == language]


def command_lines(document: str) -> list[str]:
    """Give every command line of the shell blocks, continued lines joined."""
    joined = "\n".join(blocks(document, "sh")).replace("\\\n", " ")
    return [line for line in joined.splitlines() if line.strip()]


def run(line: str, folder: Path, environment: dict[str, str]) -> None:
    words = shlex.split(line, comments=True)
    if words[:1] == ["export"]:
        environment.update(word.split("=", 1) for word in words[1:])
        return
    if words[:1] != ["heelstamp"]:
        return
    done = subprocess.run(
        [sys.executable, "-m", "heelstamp", *words[1:]],
        cwd=folder,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    # 3 is an answer too: a first look may leave the date undecided
    assert done.returncode in (0, 1, 3), f"{line}\n{done.stderr}"


@pytest.mark.parametrize("document", ["README.md", "docs/tutorial.md"])
def test_every_command_of_a_document_runs(document: str, tmp_path: Path) -> None:
    Image.new("RGB", (64, 48), "tan").save(tmp_path / "cavity.jpg")
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    lines = command_lines(document)
    environment: dict[str, str] = {}
    assert any(line.startswith("heelstamp date") for line in lines)
    for line in lines:
        run(line, tmp_path, environment)


def test_the_python_examples_of_the_readme_print_what_they_say() -> None:
    reading, engines = (
        subprocess.run([sys.executable, "-c", one], capture_output=True, text=True, check=True)
        for one in blocks("README.md", "python")
    )
    decades = [line.split()[1] for line in reading.stdout.splitlines() if line.startswith("Oct")]
    assert decades == ["1946", "1956", "1966"]
    assert engines.stdout.splitlines() == ["neck first fitted: 0.96", "settled pitch: 110.005 Hz"]


def test_every_make_target_of_a_document_exists() -> None:
    targets = set(re.findall(r"^(\w+):", (ROOT / "Makefile").read_text("utf-8"), re.MULTILINE))
    for document in ("README.md", "CONTRIBUTING.md", "docs/tutorial.md"):
        named = set(re.findall(r"make (\w+)", (ROOT / document).read_text("utf-8")))
        named -= {"a", "it", "the"}
        assert named <= targets, document


def test_every_file_a_document_links_to_exists() -> None:
    for document in [*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")]:
        for target in re.findall(r"\]\(([^)#]+)\)", document.read_text("utf-8")):
            assert target.startswith("http") or (document.parent / target).exists(), document
