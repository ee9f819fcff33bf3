"""A fresh starter folder for each test, and a way to change one thing in it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from loamery.errors import GardenError, InputError
from loamery.garden import read_garden, write_starter

Change = Callable[[str, str, str], None]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a starter garden."""
    return write_starter(tmp_path / "garden")


@pytest.fixture
def change(folder: Path) -> Change:
    """Return a function that replaces one text in one file of the folder, insisting that it was there."""

    def one(file: str, old: str, new: str) -> None:
        path = folder / file
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    return one


@pytest.fixture
def faults(folder: Path) -> Callable[[], tuple[InputError, ...]]:
    """Return a function that reads the folder and returns every fault it is refused for."""

    def told() -> tuple[InputError, ...]:
        with pytest.raises(GardenError) as error:
            read_garden(folder)
        assert error.value.faults
        for one in error.value.faults:
            assert one.read
            assert one.where.file
            assert one.expected
            assert one.remedy
            assert "Traceback" not in str(one)
        return error.value.faults

    return told
