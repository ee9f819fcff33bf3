"""The starter: commented, readable, ready to plan from; never written over what is there."""

from __future__ import annotations

from pathlib import Path

import pytest

from loamery.errors import InputError
from loamery.garden import read_garden, write_demo, write_starter
from loamery.garden.folder import FILES
from loamery.garden.model import Climate, Info


def test_every_part_has_a_file_and_a_place_for_reports(folder: Path) -> None:
    expected = {"garden.toml", "reports.toml", "reports", *(file for file, _ in FILES.values())}
    assert {path.name for path in folder.iterdir()} == expected


def test_every_column_of_every_record_is_offered(folder: Path) -> None:
    for file, model in FILES.values():
        header = (folder / file).read_text(encoding="utf-8").splitlines()[0].split(",")
        assert header == list(model.model_fields), file


def test_every_setting_is_shown_and_explained(folder: Path) -> None:
    text = (folder / "garden.toml").read_text(encoding="utf-8")
    for name in (*Info.model_fields, *Climate.model_fields):
        assert f"{name} =" in text, name
    assert sum("#" in line for line in text.splitlines()) >= 10


def test_the_starter_names_nobody_and_is_marked_as_nothing_real(folder: Path) -> None:
    garden = read_garden(folder)
    assert not garden.info.invented
    assert garden.reports == ()


def test_the_example_report_of_the_remarks_works_when_its_marks_are_taken_off(folder: Path) -> None:
    lines = (folder / "reports.toml").read_text(encoding="utf-8").splitlines()
    start = lines.index("# [[report]]")
    (folder / "reports.toml").write_text("\n".join(line.removeprefix("# ") for line in lines[start:]), encoding="utf-8")
    (folder / "reports" / "grounds-2026.csv").write_text("N,2.05 %\n", encoding="utf-8")
    (entry,) = read_garden(folder).reports
    assert (entry.file, entry.material, entry.answers) == ("reports/grounds-2026.csv", "grounds", {"basis": "dry"})


@pytest.mark.parametrize("write", [write_starter, write_demo])
def test_nothing_is_written_over(tmp_path: Path, write: object) -> None:
    (tmp_path / "garden").mkdir()
    (tmp_path / "garden" / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="already holds something"):
        write(tmp_path / "garden")  # type: ignore[operator]
    assert [path.name for path in tmp_path.rglob("*")] == ["garden", "mine.txt"]


def test_the_demo_is_marked_as_invented_in_every_text_file(tmp_path: Path) -> None:
    folder = write_demo(tmp_path / "demo")
    texts = [path for path in folder.rglob("*") if path.suffix in (".csv", ".toml")]
    assert len(texts) >= 10
    assert [path.name for path in texts if "invented" not in path.read_text(encoding="utf-8").casefold()] == []


def test_what_is_written_is_text_of_plain_line_ends(folder: Path) -> None:
    for path in folder.rglob("*"):
        if path.is_file():
            assert b"\r" not in path.read_bytes(), path.name
