"""``loamery init``, ``season``, ``report`` and ``demo``: what they print, how they end, and what they leave behind."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from loamery.garden import write_demo
from tests.cli.conftest import Said, tree

Loamery = Callable[..., Said]


def change(folder: Path, file: str, old: str, new: str) -> None:
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_init_writes_and_says_what_to_do_next(loamery: Loamery, tmp_path: Path) -> None:
    said = loamery("init", tmp_path / "new" / "garden")
    assert said.code == 0
    assert "loamery season" in said.out
    assert (tmp_path / "new" / "garden" / "garden.toml").is_file()


def test_init_never_writes_over(loamery: Loamery, small: Path) -> None:
    before = tree(small)
    said = loamery("init", small, "--json")
    assert said.code == 1
    assert said.json()["error"] == "InputError"
    assert tree(small) == before


def test_init_tells_json_what_it_wrote(loamery: Loamery, tmp_path: Path) -> None:
    document = loamery("init", tmp_path / "garden", "--json").json()
    assert document["format"] == "loamery init 1"
    assert "beds.csv" in document["files"]


@pytest.mark.parametrize("target", ["/proc/garden", "/dev/null/garden"])
def test_init_where_nothing_can_be_written(loamery: Loamery, target: str) -> None:
    if not Path(target).parent.exists():
        pytest.skip("no such place on this system")
    said = loamery("init", target)
    assert said.code == 1
    assert "what to do:" in said.err


def test_season_as_json_is_one_document(loamery: Loamery, small: Path) -> None:
    said = loamery("season", small, "--json")
    assert said.code == 0
    document = said.json()
    assert document["format"] == "loamery season plan 1"
    assert document["findings"]
    assert said.err == ""


def test_season_for_people_says_it_has_no_report(loamery: Loamery, small: Path) -> None:
    said = loamery("season", small)
    assert said.code == 0
    assert "No laboratory report yet" in said.out
    assert "kg" in said.out
    assert "lb/1000ft" not in said.out


def test_season_in_us_units_from_us_columns(loamery: Loamery, small: Path) -> None:
    change(small, "beds.csv", "id,name,area_m2", "id,name,area_ft2")
    change(small, "beds.csv", "First bed,8,", f"First bed,{8 / 0.09290304!r},")
    said = loamery("season", small, "--units", "us")
    assert said.code == 0
    assert " lb" in said.out
    assert "lb/1000ft²" in said.out
    assert " kg (" not in said.out
    assert "8 m2" not in said.out


def test_a_garden_in_us_units_is_shown_in_them_unless_asked(loamery: Loamery, small: Path) -> None:
    change(small, "garden.toml", 'units = "metric"', 'units = "us"')
    assert "lb/1000ft²" in loamery("season", small).out
    assert "lb/1000ft²" not in loamery("season", small, "--units", "metric").out


WRONG: dict[str, tuple[str, str, str, str]] = {
    "a missing bed": ("plantings.csv", "bed-1,tomato", "bed-7,tomato", "bed-7"),
    "an unknown crop": ("plantings.csv", "tomato", "tomatoe", "did you mean “tomato”?"),
    "supplies of zero": ("supplies.csv", ",25,", ",0,", ""),
    "a negative supply": ("supplies.csv", ",25,", ",-25,", "greater than or equal to 0"),
    "an unknown column": ("beds.csv", "texture", "colour", "column “colour”"),
    "broken toml": ("garden.toml", "[garden]", "[garden", "TOML"),
    "a path out of the folder": ("reports.toml", "# [[report]]", '[[report]]\nfile = "../../../etc/passwd"\nmaterial = "grounds"\n#', "inside the garden folder"),
    "an unknown unit": ("soil_values.csv", "P,48,mg/kg", "P,48,mg/stone", "a unit of P"),
    "dates swapped": ("plantings.csv", "2027-05-31,2027-09-26", "2027-09-26,2027-05-31", "on or after"),
}  # fmt: skip


@pytest.mark.parametrize("command", ["season", "report"])
@pytest.mark.parametrize("case", [key for key in WRONG if key != "supplies of zero"])
def test_a_wrong_garden_ends_with_1_and_changes_nothing(loamery: Loamery, small: Path, command: str, case: str) -> None:
    file, old, new, word = WRONG[case]
    change(small, file, old, new)
    before = tree(small)
    said = loamery(command, small)
    assert said.code == 1
    assert said.out == ""
    assert word in said.err
    assert file in said.err
    assert "what to do:" in said.err
    assert tree(small) == before


def test_a_wrong_garden_as_json(loamery: Loamery, small: Path) -> None:
    change(small, "plantings.csv", "tomato", "tomatoe")
    change(small, "beds.csv", "First bed,8,", "First bed,-8,")
    said = loamery("season", small, "--json")
    assert said.code == 1
    document = said.json()
    assert document["error"] == "GardenError"
    assert {fault["where"]["file"] for fault in document["faults"]} == {"plantings.csv", "beds.csv"}
    for fault in document["faults"]:
        assert {"read", "where", "expected", "remedy"} <= set(fault)


@pytest.mark.parametrize("command", ["season", "report"])
def test_nothing_to_plan_is_told(loamery: Loamery, small: Path, command: str) -> None:
    (small / "supplies.csv").write_text(
        "donor,material,kg_per_week,first,last\ncafe,grounds,0,2027-05-31,2027-08-01\n", encoding="utf-8"
    )
    before = tree(small)
    said = loamery(command, small, "--json")
    assert said.code == 1
    document = said.json()
    assert document["error"] == "NoPlan"
    assert document["conflict"]
    assert document["remedies"]
    assert tree(small) == before


@pytest.mark.parametrize("command", ["season", "report"])
def test_a_folder_that_is_no_garden(loamery: Loamery, tmp_path: Path, command: str) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    for place in (tmp_path / "nowhere", tmp_path / "here", tmp_path / "file"):
        said = loamery(command, place)
        assert said.code == 1
        assert "loamery init" in said.err
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("name", ["Beds [/]", "[bold]Beds", "Beds [/red] [link=x]", "\\[x]", "{0} %s"])
def test_names_are_shown_as_they_stand(loamery: Loamery, small: Path, name: str) -> None:
    """Square brackets are markup to the library that draws the tables; in a name they are letters."""
    change(small, "garden.toml", 'name = "My garden"', f"name = '{name}'")
    change(small, "beds.csv", "First bed", name)
    change(small, "materials.csv", "Spent coffee grounds", name)
    said = loamery("season", small)
    assert said.code == 0
    assert said.out.count(name) >= 2


def test_a_damaged_laboratory_file_is_named(loamery: Loamery, small: Path) -> None:
    (small / "reports" / "a.xlsx").write_bytes(b"no workbook")
    (small / "reports.toml").write_text('[[report]]\nfile = "reports/a.xlsx"\nmaterial = "grounds"\n', encoding="utf-8")
    said = loamery("season", small)
    assert said.code == 1
    assert "a.xlsx" in said.err


def test_a_report_is_written_whole(loamery: Loamery, small: Path, tmp_path: Path) -> None:
    said = loamery("report", small, "--into", tmp_path / "out", "--no-explain", "--json")
    assert said.code == 0
    document = said.json()
    assert {Path(one).suffix for one in document["files"]} >= {".html", ".pdf"}
    for one in document["files"]:
        assert Path(one).stat().st_size > (1000 if one.endswith((".html", ".pdf", ".svg")) else 0)
    assert not list((tmp_path / "out").rglob(".*")), "a temporary neighbour stayed"
    assert (tmp_path / "out").exists()
    assert not (small / "report").exists()


def test_one_format_only(loamery: Loamery, small: Path, tmp_path: Path) -> None:
    files = loamery("report", small, "--into", tmp_path / "out", "--format", "html", "--no-explain", "--json").json()[
        "files"
    ]
    assert files
    assert not [one for one in files if one.endswith(".pdf")]


def test_a_report_tells_the_plan_that_was_kept(loamery: Loamery, small: Path, tmp_path: Path) -> None:
    given = ("report", small, "--into", tmp_path / "out", "--format", "html", "--no-explain")
    first, again = (loamery(*given, "--json").json()["plan_made"] for _ in range(2))
    assert first[:19] == again[:19]
    assert "nothing it rests on has changed" in loamery(*given).out
    assert loamery(*given, "--anew", "--json").json()["plan_made"] > first


def test_a_fact_sheet_of_one_material(loamery: Loamery, small: Path, tmp_path: Path) -> None:
    said = loamery("report", small, "--into", tmp_path / "out", "--material", "grounds", "--format", "html", "--json")
    assert said.code == 0
    (file,) = [one for one in said.json()["files"] if one.endswith(".html")]
    assert "Spent coffee grounds" in Path(file).read_text(encoding="utf-8")


@pytest.mark.parametrize("arguments", [("--format", "docx"), ("--format", ""), ("--material", "nothing-such")])
def test_a_report_that_cannot_be_is_told_and_leaves_nothing(
    loamery: Loamery, small: Path, tmp_path: Path, arguments: tuple[str, str]
) -> None:
    said = loamery("report", small, "--into", tmp_path / "out", *arguments)
    assert said.code == 1
    assert "what to do:" in said.err
    assert not (tmp_path / "out").exists()


def test_a_report_where_a_file_stands_in_the_way(loamery: Loamery, small: Path, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    said = loamery("report", small, "--into", tmp_path / "out", "--no-explain", "--format", "html")
    assert said.code == 1
    assert (tmp_path / "out").read_text(encoding="utf-8") == "mine"


def test_the_schema_is_one_document(loamery: Loamery) -> None:
    said = loamery("schema")
    assert said.code == 0
    assert said.json()["title"] == "Loamery garden"


def test_a_reader_that_leaves_early_is_no_fault(small: Path) -> None:
    command = [sys.executable, "-m", "loamery.cli", "schema"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert b"Traceback" not in running.stderr.read()


def test_the_demo_uses_the_garden_that_is_there(loamery: Loamery, tmp_path: Path) -> None:
    """The demo on a bare folder is run by tests/test_wheel.py."""
    folder = write_demo(tmp_path / "demo" / "garden")
    change(folder, "garden.toml", "season_weeks = 26", "season_weeks = 4")
    before = tree(folder)
    said = loamery("demo", "--into", tmp_path / "demo", "--json")
    assert said.code == 0
    document = said.json()
    assert document["plan"]["garden"]["invented"] is True
    assert document["plan"]["season"]["weeks"] == 4
    assert all(Path(one).is_file() for one in document["files"])
    assert tree(folder) == before


def test_the_demo_where_a_file_stands_in_the_way(loamery: Loamery, tmp_path: Path) -> None:
    (tmp_path / "demo").write_text("mine", encoding="utf-8")
    said = loamery("demo", "--into", tmp_path / "demo")
    assert said.code == 1
    assert (tmp_path / "demo").read_text(encoding="utf-8") == "mine"
