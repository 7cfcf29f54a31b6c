"""What every test may use, and the one line that says what this machine cannot run."""

import gc
import os
import shutil
from pathlib import Path

import hypothesis
import pytest

from fakes.databases import POSTGRES_ADDRESS, postgres_programs
from heelstamp.catalogue import PartsTree
from heelstamp.reference.parts_trees import load_parts_tree

# a busy machine is no fault, and what failed once must fail again
hypothesis.settings.register_profile("heelstamp", deadline=None, derandomize=True, database=None)
hypothesis.settings.load_profile("heelstamp")
_BROWSERS = ("chromium", "chromium-browser", "google-chrome")
_left_out = pytest.StashKey[list[str]]()


def _missing() -> dict[str, str]:
    missing = {}
    if not os.environ.get(POSTGRES_ADDRESS) and postgres_programs() is None:
        missing["postgres"] = f"PostgreSQL (no initdb here; or set {POSTGRES_ADDRESS})"
    if not any(map(shutil.which, _BROWSERS)):
        missing["browser"] = "Chromium"
    return missing


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip what this machine cannot run, and remember how much that is."""
    left_out = []
    for mark, reason in _missing().items():
        marked = [item for item in items if item.get_closest_marker(mark)]
        for item in marked:
            item.add_marker(pytest.mark.skip(reason=f"needs {reason}"))
        if marked:
            left_out.append(f"{len(marked)} tests that need {reason}")
    config.stash[_left_out] = left_out


def pytest_collection_finish() -> None:
    """Let the collector of cycles pass over the program itself, which stays to the end.

    Half a million objects of modules and tests were walked again and again: a tenth of the run.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say in one line what was left out."""
    left_out = terminalreporter.config.stash.get(_left_out, [])
    if left_out:
        terminalreporter.write_line("Left out on this machine: " + "; ".join(left_out) + ".")


@pytest.fixture
def guitar() -> PartsTree:
    """The bundled guitar's parts tree."""
    return load_parts_tree("guitar")


@pytest.fixture(scope="session")
def new_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with one dossier and nothing else in it, to be copied."""
    from fakes.web_shop import make_shop  # the whole bench, which few tests need

    return make_shop(tmp_path_factory.mktemp("new"))


@pytest.fixture
def shop(new_shop: Path, tmp_path: Path) -> Path:
    """A shop with one dossier, for one test."""
    return shutil.copytree(new_shop, tmp_path / "shop")
