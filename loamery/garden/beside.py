"""Files of a garden folder that are not rows of the garden: carried along whole, and those nobody knows told."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from loamery.garden.checks import inside
from loamery.garden.rows import guarded

CARRIED = ("trials/*.toml", "trials/*.csv")
"""What commands read from the folder by themselves: trials with what was read on each plot."""
PASSED_OVER = (".", "__MACOSX")
"""Starts of names that file systems and version control add by themselves."""


def beside(folder: Path) -> tuple[str, ...]:
    """Return the files of a folder that are carried along whole, as paths inside it."""
    found = [path for pattern in CARRIED for path in sorted(folder.glob(pattern)) if path.is_file()]
    names = [path.relative_to(folder).as_posix() for path in found]
    return tuple(name for name in names if inside(folder, name).is_file() and not _passed_over(name))


def strangers(folder: Path, known: set[str]) -> tuple[str, ...]:
    """Return the files of a folder that are neither known nor carried along, as paths inside it."""
    names = (path.relative_to(folder).as_posix() for path in sorted(folder.rglob("*")) if path.is_file())
    held = known | set(beside(folder))
    return tuple(name for name in names if name not in held and not _passed_over(name))


def _passed_over(name: str) -> bool:
    return any(part.startswith(PASSED_OVER) for part in name.split("/"))


def harmless(name: str, content: bytes) -> bytes:
    """Return a file as it may leave the garden: cells of a CSV that could act as a formula are made text.

    A file without such cells, or that is no CSV, comes back byte for byte.
    """
    if not name.endswith(".csv"):
        return content
    try:
        rows = list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))
    except (UnicodeDecodeError, csv.Error):
        return content
    # a cell that has its apostrophe keeps just that one, however often the garden goes out and in
    safe = [[cell if cell.startswith("'") else guarded(cell) for cell in cells] for cells in rows]
    if safe == rows:
        return content
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(safe)
    return stream.getvalue().encode("utf-8")
