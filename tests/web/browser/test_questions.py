"""Pages of a garden with three seasons of records ask the database a handful of questions, however many records there are."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from tests.web.browser.conftest import surroundings

COUNT = Path(__file__).with_name("count.py")
MOST = {"records/loads": 6, "records/readings": 6, "changes": 5, "people": 7, "sheets/": 6}
"""Lists of records and of people, and of sheets, which asks for trials, their readings and files that are no trial yet; every other page has its person, its garden and the garden's version to ask for."""
MOST_OTHERS, MOST_BYTES = 3, 200_000


def test_no_page_asks_much(data: Path) -> None:
    done = subprocess.run(
        [sys.executable, str(COUNT), str(data)], env=surroundings(), check=True, capture_output=True, timeout=300
    )
    found = json.loads(done.stdout)
    assert len(found) > 15
    asked = {page: one["questions"] for page, one in found.items()}
    assert {page: count for page, count in asked.items() if count > MOST.get(page, MOST_OTHERS)} == {}
    assert {page: one["bytes"] for page, one in found.items() if one["bytes"] > MOST_BYTES} == {}
