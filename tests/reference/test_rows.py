"""Every row of every data file names a source that exists and says whether it was read; and the rule bites."""

from __future__ import annotations

import csv
from itertools import pairwise
from pathlib import Path

import pytest

from loamery.reference import cite, coefficients, family, sources, table
from loamery.reference.check import all_faults, data_files, file_faults, row_faults
from loamery.units import to_si, units

DATA = Path(__file__).resolve().parents[2] / "loamery" / "reference" / "data"
GOOD = {"key": "x", "value": "2", "low": "1", "high": "3", "unit": "%", "source": "PNW636", "locator": "table 1",
        "kind": "compiled", "read": "found"}  # fmt: skip
EXPECTED_FILES = {"materials", "material_values", "crops", "crop_values", "limits", "soil_tests", "cautions", "sources",
                  "coefficients", "units", "quantities", "jurisdictions"}  # fmt: skip


def test_the_check_sees_every_file_that_is_there() -> None:
    assert set(data_files()) == {path.stem for path in DATA.glob("*.csv")}
    assert set(data_files()) >= EXPECTED_FILES
    assert not [path.name for path in DATA.iterdir() if path.suffix != ".csv"]


def test_every_row_keeps_the_rules() -> None:
    assert all_faults() == []


def test_a_good_row_passes() -> None:
    assert row_faults("coefficients", GOOD, sources(), units()) == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"source": ""}, "no source"),
        ({"source": "  "}, "no source"),
        ({"source": "SOMEBODY"}, "unknown source “SOMEBODY”"),
        ({"read": ""}, "read is “”"),
        ({"read": "yes"}, "read is “yes”"),
        ({"read": "Found"}, "read is “Found”"),
        ({"kind": ""}, "kind is “”"),
        ({"kind": "guess"}, "kind is “guess”"),
        ({"locator": ""}, "no locator"),
        ({"value": "2,5"}, "not a number"),
        ({"value": "nan"}, "not a finite number"),
        ({"value": "9"}, "not in order"),
        ({"low": "4"}, "not in order"),
        ({"unit": "stone"}, "unknown unit “stone”"),
    ],
)
def test_a_bad_row_is_refused(change: dict[str, str], told: str) -> None:
    found = row_faults("coefficients", GOOD | change, sources(), units())
    assert len(found) == 1
    assert told in found[0]


@pytest.mark.parametrize("column", ["source", "read", "kind"])
def test_a_row_without_the_column_is_refused(column: str) -> None:
    row = {key: cell for key, cell in GOOD.items() if key != column}
    assert row_faults("coefficients", row, sources(), units())


def test_a_fault_names_file_and_row_as_an_editor_shows_them() -> None:
    found = file_faults("crops", [GOOD, GOOD | {"source": ""}], sources(), units())
    assert found == ["crops.csv, row 3: no source"]


def test_a_shipped_file_with_one_mark_taken_out_is_refused() -> None:
    rows = [dict(row) for row in table("material_values")]
    rows[100]["read"] = ""
    rows[200]["source"] = ""
    assert len(file_faults("material_values", rows, sources(), units())) == 2


@pytest.mark.parametrize("cell", ["key", "citation", "where_read", "read", "kind"])
def test_a_source_has_to_say_what_it_is_too(cell: str) -> None:
    row = dict(next(iter(table("sources"))))
    assert row_faults("sources", row, sources(), units()) == []
    assert row_faults("sources_rules", row | {cell: ""}, sources(), units())


def test_keys_are_given_once() -> None:
    for name in ("sources", "coefficients"):
        keys = [row["key"] for row in family(name)]
        assert len(keys) == len(set(keys)), name
    for name, column in (("materials", "slug"), ("crops", "slug"), ("quantities", "key"), ("units", "unit")):
        keys = [row[column] for row in table(name)]
        assert len(keys) == len(set(keys)), name


def test_files_are_plain_utf8_without_ragged_rows() -> None:
    for path in DATA.glob("*.csv"):
        raw = path.read_bytes()
        assert not raw.startswith(b"\xef\xbb\xbf"), path.name
        assert b"\r" not in raw, path.name
        with path.open(encoding="utf-8", newline="") as stream:
            widths = {len(row) for row in csv.reader(stream)}
        assert len(widths) == 1, path.name


def test_an_unread_source_gives_no_row_that_was_read() -> None:
    """A row cannot have been read in a work that was not."""
    unread = {key for key, one in sources().items() if one.read == "recalled"}
    read = [
        (name, row["source"])
        for name in data_files()
        for row in table(name)
        if row.get("read") == "found" and row.get("source") in unread
    ]
    assert read == []


def test_every_source_of_a_coefficient_can_be_cited() -> None:
    assert all(cite([one.source]) for one in coefficients().values())


def test_there_is_enough_of_everything() -> None:
    # the issue: at least 40 materials, at least 30 crops, a caution where work can hurt
    assert len(table("materials")) >= 40
    assert len(table("crops")) >= 30
    assert len(table("cautions")) >= 20


def test_every_material_has_what_a_plan_needs() -> None:
    values: dict[str, set[str]] = {}
    for row in table("material_values"):
        values.setdefault(row["slug"], set()).add(row["quantity"])
    assert set(values) == {row["slug"] for row in table("materials")}
    mineral = {row["slug"] for row in table("materials") if row["group"] == "mineral"}
    for slug, found in values.items():
        lacking = {"moisture", "N", "P", "K", "bulk_density"} - found if slug not in mineral else {"moisture"} - found
        assert not lacking, (slug, lacking)


def test_every_crop_has_what_a_plan_needs() -> None:
    values: dict[str, set[str]] = {}
    for row in table("crop_values"):
        values.setdefault(row["slug"], set()).add(row["quantity"])
    for row in table("crops"):
        assert {"yield", "removal_N", "removal_P", "removal_K"} <= values[row["slug"]], row["slug"]


def limits(key: str, **cells: str) -> dict[str, float]:
    rows = [row for row in table("limits") if row["key"] == key and all(row[k] == v for k, v in cells.items())]
    found = {row["parameter"]: float(row["value"]) for row in rows}
    assert len(found) == len(rows), f"{key}: a parameter twice"
    return found


@pytest.mark.parametrize(
    ("key", "published"),
    [
        # 40 CFR 503.13 (b) tables 1 and 3 in mg/kg dry (1993; Mo of table 3 stayed in court, Cr and Se of 1995); recalled
        ("us-503-table1", {"As": 75, "Cd": 85, "Cu": 4300, "Pb": 840, "Hg": 57, "Mo": 75, "Ni": 420, "Se": 100, "Zn": 7500}),
        ("us-503-table3", {"As": 41, "Cd": 39, "Cu": 1500, "Pb": 300, "Hg": 17, "Ni": 420, "Se": 100, "Zn": 2800}),
        # CCME Guidelines for Compost Quality, PN 1340 (2005), categories A and B, mg/kg dry; recalled
        ("ca-ccme-2005-a", {"As": 13, "Cd": 3, "Co": 34, "Cr": 210, "Cu": 400, "Hg": 0.8, "Mo": 5, "Ni": 62, "Pb": 150, "Se": 2, "Zn": 700}),
        ("ca-ccme-2005-b", {"As": 75, "Cd": 20, "Co": 150, "Cr": 1060, "Cu": 757, "Hg": 5, "Mo": 20, "Ni": 180, "Pb": 500, "Se": 14, "Zn": 1850}),
        # Regulation (EU) 2019/1009, Annex I, PFC 3(A) organic soil improver, mg/kg dry; recalled
        ("eu-2019-1009-pfc3a", {"Cd": 2, "CrVI": 2, "Hg": 1, "Ni": 50, "Pb": 120, "As": 40, "Cu": 300, "Zn": 800}),
    ],
)  # fmt: skip
def test_limits_in_mg_per_kg_as_published(key: str, published: dict[str, float]) -> None:
    found = limits(key, unit="mg/kg")
    assert {element: found.get(element) for element in published} == published


@pytest.mark.parametrize(
    ("key", "unit", "published"),
    [
        # 40 CFR 503.13 (b) table 2, cumulative loading, kg/ha; table 4, annual loading, kg/ha and 365 days; recalled
        (
            "us-503-table2",
            "kg/ha",
            {"As": 41, "Cd": 39, "Cu": 1500, "Pb": 300, "Hg": 17, "Ni": 420, "Se": 100, "Zn": 2800},
        ),
        (
            "us-503-table4",
            "kg/ha/yr",
            {"As": 2.0, "Cd": 1.9, "Cu": 75, "Pb": 15, "Hg": 0.85, "Ni": 21, "Se": 5.0, "Zn": 140},
        ),
    ],
)
def test_loads_on_soil_as_published(key: str, unit: str, published: dict[str, float]) -> None:
    found = limits(key, unit=unit)
    assert {element: found.get(element) for element in published} == published


def test_every_jurisdiction_finds_its_limits() -> None:
    keys = {row["key"] for row in table("limits")}
    for row in table("jurisdictions"):
        for column in ("compost_limits", "soil_limits", "cumulative_limits", "hygiene_limits"):
            assert set(filter(None, row[column].split(";"))) <= keys, (row["key"], column)
        assert int(row["manure_interval_days_contact"]) >= int(row["manure_interval_days_no_contact"]) > 0


def soil_tables() -> dict[tuple[str, str, str, str], list[tuple[float, float, str]]]:
    found: dict[tuple[str, str, str, str], list[tuple[float, float, str]]] = {}
    for row in table("soil_tests"):
        low, high = float(row["low"] or "-inf"), float(row["high"] or "inf")
        found.setdefault((row["extractant"], row["analyte"], row["source"], row["unit"]), []).append(
            (low, high, row["class"])
        )
    return found


CLASS_ORDER = ("very_low", "low", "medium", "high", "very_high")


@pytest.mark.parametrize("key", list(soil_tables()), ids=" ".join)
def test_soil_test_classes_are_contiguous_and_in_order(key: tuple[str, str, str, str]) -> None:
    steps = sorted(soil_tables()[key])
    for (_, high, _), (low, _, _) in pairwise(steps):
        assert low == high, key
    places = [CLASS_ORDER.index(name) for _, _, name in steps if name in CLASS_ORDER]
    assert places == sorted(set(places)), key


def test_soil_tests_speak_of_the_extractants_gardens_meet() -> None:
    known = {row["extractant"] for row in table("soil_tests")}
    assert {"mehlich3", "olsen", "bray1", "ammonium_acetate", "none"} <= known


def test_cautions_speak_of_materials_and_groups_that_exist() -> None:
    slugs = {row["slug"] for row in table("materials")}
    groups = {row["group"] for row in table("materials")}
    for row in table("cautions"):
        for one in filter(None, row["applies_to"].split(";")):
            name = one.removeprefix("group:")
            assert name in (groups if one.startswith("group:") else slugs) or one in ("all", "garden", "*"), (
                row["code"],
                one,
            )


def test_published_shares_are_shares() -> None:
    for row in table("material_values"):
        if row["unit"] == "%" and row["quantity"] in ("moisture", "ash", "organic_matter", "C", "N", "P", "K"):
            for side in ("low", "typical", "high"):
                assert not row[side] or 0 <= to_si(float(row[side]), "%") <= 1, row


def test_the_check_runs_by_itself(capsys: pytest.CaptureFixture[str]) -> None:
    from loamery.reference.check import main

    assert main() == 0
    assert "every row with a source" in capsys.readouterr().out
