"""Every example of the documentation runs and shows what the page says it shows."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

import pages

WITH_EXAMPLES = [page for page in pages.PAGES if page.exists()]


@pytest.mark.parametrize("page", WITH_EXAMPLES, ids=lambda page: page.name)
def test_examples_of_a_page(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    pages.run_page(page, tmp_path)


def test_a_wrong_example_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for wrong in (
        "```console\n$ loamery --version\nloamery 0.0.0\n```\n",
        "```console\n$ loamery --no-such-option\n```\n",
        "```console\n$ loamery --version\n(exit code 1)\n```\n",
        "```python\n>>> 1 + 1\n3\n```\n",
        "```python\nassert 1 + 1 == 3\n```\n",
    ):
        page = tmp_path / "wrong.md"
        page.write_text(wrong, encoding="utf-8")
        with pytest.raises(AssertionError):
            pages.run_page(page, tmp_path)
