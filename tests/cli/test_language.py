"""`--language`: every command that writes sheets or charts takes it, the sheet is in that language, what is printed stays English."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from loamery.cli.app import app
from loamery.cli.options import Tongue
from tests.docs.test_docs import commands

NO_SHEET = {"backup"}
"""Commands that take a folder for other things than sheets."""
BED = ["bed", "--with", "coffee-spent=20 L", "--draws", "4", "--weeks", "8"]
MULCH = ["mulch", "coffee-spent", "--draws", "3", "--no-table"]


def options(command: typer.core.TyperCommand) -> set[str]:
    return {opt for one in command.params for opt in one.opts}


def test_every_command_that_writes_sheets_takes_a_language() -> None:
    writing = {name for name, one in commands().items() if "--into" in options(one)} - NO_SHEET
    assert writing >= {"heap", "mulch", "bed", "worms", "report", "review", "benefit", "share", "trial analyse"}
    assert {name for name, one in commands().items() if "--language" in options(one)} == writing


@pytest.mark.parametrize(
    ("asked", "file", "french", "english"),
    [(BED, "bed.html", "Semaine par semaine", "Week by week"), (MULCH, "mulch.html", "Quelle épaisseur au plus", "How thick it may lie")],
)  # fmt: skip
def test_the_sheet_is_in_the_language_asked_for_and_the_rest_english(
    asked: list[str], file: str, french: str, english: str, tmp_path: Path
) -> None:
    told = {}
    for language in Tongue:
        into = tmp_path / language
        done = CliRunner().invoke(app, [*asked, "--into", str(into), "--language", language, "--json"])
        assert done.exit_code == 0, done.output
        told[language] = {**json.loads(done.stdout), "files": []}
        page = (into / file).read_text(encoding="utf-8")
        assert f'<html lang="{language}"' in page
        assert (french in page) is (language == "fr")
        assert (english in page) is (language == "en")
    assert told["fr"] == told["en"]
    charts = [sorted(one.name for one in (tmp_path / language / "charts").iterdir()) for language in Tongue]
    assert charts[0] == charts[1]
    for one in (tmp_path / "en" / "charts").glob("*.csv"):
        assert one.read_bytes() == (tmp_path / "fr" / "charts" / one.name).read_bytes(), "figures are the same file"


def test_a_language_that_is_not_there_is_refused() -> None:
    done = CliRunner().invoke(app, [*BED, "--language", "xx"])
    assert done.exit_code == 2
    assert "fr" in done.output
