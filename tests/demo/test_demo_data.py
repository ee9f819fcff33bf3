"""The demo garden's files, checked without the package's own folder reader."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import tomllib
from datetime import date, timedelta
from pathlib import Path

import pytest

from loamery.garden import model
from loamery.names import quantities
from loamery.reference import table

ROOT = Path(__file__).resolve().parents[2]
GARDEN = ROOT / "loamery" / "demo" / "garden"
REPORTS = GARDEN / "reports"
RECORDS = {
    "donors": model.Donor,
    "materials": model.Material,
    "supplies": model.Supply,
    "beds": model.Bed,
    "plantings": model.Planting,
    "soil_values": model.SoilValue,
    "heaps": model.Heap,
    "worm_beds": model.WormBed,
}


def rows(name: str) -> list[dict[str, str]]:
    lines = (GARDEN / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def ids(name: str) -> set[str]:
    return {row["id"] for row in rows(name)}


def head() -> dict:
    return tomllib.loads((GARDEN / "garden.toml").read_text(encoding="utf-8"))


def entries() -> list[dict]:
    return tomllib.loads((GARDEN / "reports.toml").read_text(encoding="utf-8"))["report"]


@pytest.mark.parametrize("name", RECORDS)
def test_headers_are_the_models_fields(name):
    assert list(rows(name)[0]) == list(RECORDS[name].model_fields)


@pytest.mark.parametrize("name", RECORDS)
def test_rows_are_records(name):
    for row in rows(name):
        given = {key: value for key, value in row.items() if value}
        if name == "materials":
            given["uses"] = tuple(given["uses"].split(";"))
        RECORDS[name].model_validate(given)


@pytest.mark.parametrize("name", RECORDS)
def test_every_file_says_it_is_invented(name):
    assert "invented" in (GARDEN / f"{name}.csv").read_text(encoding="utf-8").splitlines()[0]


def test_garden_and_climate_tables():
    info = model.Info.model_validate(head()["garden"])
    model.Climate.model_validate(head()["climate"])
    assert info.invented
    assert info.season_start.weekday() == 0
    assert info.jurisdiction in {row["key"] for row in table("jurisdictions")}


def test_size_asked_for():
    assert len(ids("materials")) >= 8
    assert len(ids("donors")) == 6
    assert len(ids("beds")) == 10


def test_ids_resolve():
    assert {row["donor"] for row in rows("supplies")} == ids("donors")
    assert {row["material"] for part in ("supplies", "goods") for row in rows(part)} == ids("materials")
    assert {row["bed"] for row in rows("plantings")} == ids("beds")
    assert {row["bed"] for row in rows("soil_values")} <= ids("beds")
    assert {row["kind"] for row in rows("materials")} <= {row["slug"] for row in table("materials")}
    assert {row["crop"] for row in rows("plantings")} <= {row["slug"] for row in table("crops")}
    assert {row["quantity"] for row in rows("soil_values")} <= set(quantities())
    assert {row["extractant"] for row in rows("soil_values")} - {""} <= {
        row["extractant"] for row in table("soil_tests")
    }


@pytest.mark.parametrize(
    ("name", "first", "last"), [("supplies", "first", "last"), ("plantings", "planted", "harvested")]
)
def test_dates_lie_inside_the_season(name, first, last):
    start = head()["garden"]["season_start"]
    end = start + timedelta(weeks=head()["garden"]["season_weeks"])
    for row in rows(name):
        assert start <= date.fromisoformat(row[first]) < date.fromisoformat(row[last]) < end


def test_no_bed_is_planted_twice_over():
    for bed in ids("beds"):
        plantings = [row for row in rows("plantings") if row["bed"] == bed]
        for day in {row["planted"] for row in plantings}:
            taken = sum(float(one["share"]) for one in plantings if one["planted"] <= day < one["harvested"])
            assert taken <= 1 + 1e-9, (bed, day)


def test_only_bought_material_has_a_price():
    assert {row["material"] for row in rows("supplies") if float(row["price_per_kg"])} == {"town-compost"}


def test_reports_exist_and_every_bed_has_a_soil_test():
    assert {Path(entry["file"]).name for entry in entries()} == {path.name for path in REPORTS.iterdir()}
    for entry in entries():
        record = model.ReportEntry.model_validate(entry)
        assert (record.material in ids("materials")) != (record.bed in ids("beds"))
    tested = {entry["bed"] for entry in entries() if "bed" in entry} | {row["bed"] for row in rows("soil_values")}
    assert tested == ids("beds")


def test_some_materials_have_no_report_and_grounds_have_two():
    reported = [entry["material"] for entry in entries() if "material" in entry]
    assert reported.count("grounds") == 2
    assert ids("materials") - set(reported)


def test_soil_samples_are_named_as_the_entries_say():
    import openpyxl

    sheet = openpyxl.load_workbook(REPORTS / "soil-autumn.xlsx").active
    printed = {row[0] for row in sheet.iter_rows(min_row=6, values_only=True)}
    assert printed == {entry["sample"] for entry in entries() if entry["file"].endswith("soil-autumn.xlsx")}


def test_planted_faults_name_files_of_the_garden():
    faults = json.loads((ROOT / "tests" / "demo" / "planted_faults.json").read_text(encoding="utf-8"))["faults"]
    assert {"unit_slip", "oxide_as_element", "wet_dry_disagree", "date_in_value", "limit_unknown"} <= {
        fault["code"] for fault in faults
    }
    for fault in faults:
        matching = [one for one in entries() if one["file"] == f"reports/{fault['file']}"]
        assert matching, fault["file"]
        assert matching[0].get("material") == fault.get("material")
        assert matching[0].get("bed") == fault.get("bed")


def test_script_writes_the_same_bytes(tmp_path):
    pytest.importorskip("reportlab")
    script = ROOT / "examples" / "make_demo_reports.py"
    subprocess.run([sys.executable, str(script), str(tmp_path)], check=True)
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in REPORTS.iterdir()}
    for path in REPORTS.iterdir():
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name
