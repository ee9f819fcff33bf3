"""Writing: whole or not at all, and nothing left behind."""

from __future__ import annotations

from pathlib import Path

import pytest

from loamery.errors import InputError
from loamery.saving import save_bytes, save_folder, save_text


def test_text_is_utf8_with_plain_line_ends(tmp_path: Path) -> None:
    path = save_text(tmp_path / "new" / "a.txt", "café\n“1 m²”\n")
    assert path.read_bytes() == "café\n“1 m²”\n".encode()


def test_a_file_is_replaced_whole_and_no_neighbour_stays(tmp_path: Path) -> None:
    target = tmp_path / "a.bin"
    target.write_bytes(b"old")
    save_bytes(target, b"new")
    assert target.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [target]
    assert target.stat().st_mode & 0o777 == 0o644


def test_a_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "a.bin"
    target.write_bytes(b"old")

    def no_room(self: Path, other: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", no_room)
    with pytest.raises(InputError, match="No space left"):
        save_bytes(target, b"new")
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_place_that_cannot_be_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError) as told:
        save_text(tmp_path / "file" / "below.txt", "x")
    assert "nothing was changed" in told.value.remedy
    with pytest.raises(InputError):
        save_text(tmp_path, "a folder stands there")
    assert [one.name for one in tmp_path.iterdir()] == ["file"]


def test_a_folder_is_filled_and_then_appears(tmp_path: Path) -> None:
    target = tmp_path / "deep" / "garden"

    def fill(folder: Path) -> None:
        assert not target.exists()
        (folder / "a.txt").write_text("a")

    assert save_folder(target, fill) == target
    assert (target / "a.txt").read_text() == "a"
    assert [one.name for one in target.parent.iterdir()] == ["garden"]
    assert target.stat().st_mode & 0o777 == 0o755


def test_an_empty_folder_may_be_filled(tmp_path: Path) -> None:
    target = tmp_path / "garden"
    target.mkdir()
    save_folder(target, lambda folder: (folder / "a").write_text("a") and None)
    assert (target / "a").exists()


@pytest.mark.parametrize("what", ["file", "folder"])
def test_nothing_is_written_over(tmp_path: Path, what: str) -> None:
    target = tmp_path / "garden"
    if what == "file":
        target.write_text("mine")
    else:
        target.mkdir()
        (target / "mine.txt").write_text("mine")
    with pytest.raises(InputError, match="already holds something"):
        save_folder(target, lambda folder: pytest.fail("must not be filled"))
    assert (target if what == "file" else target / "mine.txt").read_text() == "mine"


@pytest.mark.parametrize(
    "error", [OSError(28, "No space left on device"), RuntimeError("a fault of ours"), KeyboardInterrupt()]
)
def test_a_filling_that_fails_leaves_nothing(tmp_path: Path, error: BaseException) -> None:
    def fill(folder: Path) -> None:
        (folder / "half.txt").write_text("half")
        raise error

    expected: type[BaseException] = InputError if isinstance(error, OSError) else type(error)
    with pytest.raises(expected):
        save_folder(tmp_path / "garden", fill)
    assert list(tmp_path.iterdir()) == []
