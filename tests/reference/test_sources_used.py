"""Every source of the reference data is named by something: a figure, a text of the package, a page of the docs or a check."""

from __future__ import annotations

import csv
import re
from pathlib import Path

from loamery.reference import sources

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "loamery" / "reference" / "data"
PLACES = (("loamery", "*.py"), ("validation", "*.py"), ("docs", "*.md"))
SHOWN = "reference-data.md"
"""Lists every source by itself, so that a name there tells nothing."""


def named() -> set[str]:
    """Return every word that figures, code, checks and hand-written pages hold."""
    words: set[str] = set()
    for path in DATA.glob("*.csv"):
        rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
        own = path.stem.startswith("sources")
        for row in rows:  # a source's own row names itself in its first cell
            words |= {one for cell in row[1 if own else 0 :] for one in re.findall(r"[\w-]+", cell)}
    for folder, pattern in PLACES:
        for path in (ROOT / folder).rglob(pattern):
            if path.name != SHOWN:
                words |= set(re.findall(r"[\w-]+", path.read_text(encoding="utf-8")))
    return words


def test_every_source_is_named_by_a_figure_a_text_or_a_check() -> None:
    found = named()
    unused = sorted(key for key in sources() if key not in found)
    assert not unused, f"named by nothing; name them where they belong or take them out: {unused}"
