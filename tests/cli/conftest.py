"""The command run as a person runs it: in a process of its own, from another folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from loamery.garden import write_starter

SMALL = {
    "garden.toml": [("season_weeks = 26", "season_weeks = 8"), ("season_start = 2027-04-05", "season_start = 2027-05-31"), ("draws = 1000", "draws = 200")],
    "heaps.csv": [("heap-1,Bin by the shed,1.2,bin,\n", "")],
    "worm_beds.csv": [("worms-1,Worm box,0.5,0.8,", "")],
}  # fmt: skip


@dataclass(frozen=True)
class Said:
    """What a command said and how it ended."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        """Return the one JSON document on standard output; anything beside it fails."""
        return json.loads(self.out)


def call(*arguments: object, folder: Path | None = None, **environment: str) -> Said:
    """Run ``loamery`` with arguments."""
    command = [sys.executable, "-m", "loamery.cli", *(str(one) for one in arguments)]
    settings = {**os.environ, "NO_COLOR": "1", "COLUMNS": "200", **environment}
    settings.pop("LOAMERY_DEBUG", None)
    done = subprocess.run(
        command, cwd=folder, capture_output=True, text=True, encoding="utf-8", check=False, env=settings, timeout=300
    )
    said = Said(done.returncode, done.stdout, done.stderr)
    assert "Traceback" not in said.out + said.err, said.err
    assert "Loamery itself failed" not in said.out + said.err, said.err
    return said


@pytest.fixture
def loamery(tmp_path: Path) -> Callable[..., Said]:
    """Return the command, run in a folder of the test's own."""
    (tmp_path / "here").mkdir()
    return lambda *arguments, **more: call(*arguments, folder=tmp_path / "here", **more)


def write_small(folder: Path) -> Path:
    """Write a starter garden cut down to eight weeks without heaps, which is planned in a moment."""
    write_starter(folder)
    for name, changes in SMALL.items():
        path = folder / name
        text = path.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """Return a small garden."""
    return write_small(tmp_path / "garden")


def tree(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder with its content."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }
