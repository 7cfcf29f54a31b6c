"""A folder appears whole or not at all, and only what an attempt left is ever cleared."""

from pathlib import Path

import pytest

from heelstamp.shop.whole_folder import UNFINISHED, appearing, is_unfinished, is_vacant


def fill(folder: Path) -> None:
    (folder / "inner").mkdir()
    (folder / "inner" / "a").write_text("a")
    (folder / "last").write_text("b")


@pytest.mark.parametrize("there", [False, True])
def test_it_appears_whole(there: bool, tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "one"
    if there:
        folder.mkdir(parents=True)
    inode = folder.stat().st_ino if there else None
    with appearing(folder, last=("last",)) as building:
        fill(building)
        assert not (folder / "last").exists()
    assert sorted(one.name for one in folder.iterdir()) == ["inner", "last"]
    assert (folder / "inner" / "a").read_text() == "a"
    assert sorted(one.name for one in folder.parent.iterdir()) == ["one"]
    assert inode in {None, folder.stat().st_ino}, "a shell that stands in it stays in it"


def fail_in(folder: Path) -> None:
    with appearing(folder) as building:
        fill(building)
        raise RuntimeError


@pytest.mark.parametrize("there", [False, True])
def test_nothing_is_left_when_it_fails(there: bool, tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "one"
    if there:
        folder.mkdir(parents=True)
    with pytest.raises(RuntimeError):
        fail_in(folder)
    if there:
        assert list(folder.iterdir()) == []
    else:
        assert list(tmp_path.iterdir()) == []


def test_what_was_cut_off_is_cleared_and_nothing_else(tmp_path: Path) -> None:
    folder = tmp_path / "one"
    content = folder / UNFINISHED / "content"
    content.mkdir(parents=True)
    (content / "last").write_text("b")
    (folder / UNFINISHED / "members.json").write_text('["inner", "last", "../elsewhere"]')
    (folder / "inner").mkdir()
    (tmp_path / "elsewhere").write_text("kept")
    assert is_unfinished(folder)
    assert is_vacant(folder)
    (folder / "own").write_text("kept")
    assert not is_vacant(folder)
    (folder / "own").unlink()
    with appearing(folder, last=("last",)) as building:
        fill(building)
    assert sorted(one.name for one in folder.iterdir()) == ["inner", "last"]
    assert (tmp_path / "elsewhere").read_text() == "kept"


@pytest.mark.parametrize("told", ["{", '{"a": 1}', "[1]"])
def test_a_spoilt_list_of_members_names_nothing(told: str, tmp_path: Path) -> None:
    (tmp_path / UNFINISHED).mkdir()
    (tmp_path / UNFINISHED / "members.json").write_text(told)
    assert is_vacant(tmp_path)
    (tmp_path / "a").write_text("a")
    assert not is_vacant(tmp_path)
    assert not is_vacant(tmp_path / "a")
