"""Soil tests: classes by extractant, what counts before what, and what is said when a test cannot be judged."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from loamery.bed.soil import (
    CLASSES,
    class_source,
    classify,
    show_value,
    soil_findings,
    soil_limits,
    soil_om_default,
    soil_test,
    table_key,
)
from loamery.garden.model import SoilValue
from loamery.garden.report import Determination, LabReport
from loamery.reference import sources, table
from loamery.units import to_si, units

MG_KG = 1e-6


def typed(quantity: str, value: float, unit: str, extractant: str = "", day: date | None = None) -> SoilValue:
    return SoilValue(bed="b", quantity=quantity, value=value, unit=unit, extractant=extractant, sampled_on=day)


def report(*found: Determination, day: str = "2026-10-01", file: str = "soil.csv") -> LabReport:
    return LabReport(file, subject="soil", sampled_on=day, determinations=found)


def measured(quantity: str, mg_kg: float, fraction: str = "extractable", method: str = "Mehlich-3") -> Determination:
    return Determination(quantity, fraction, mg_kg * MG_KG, "dry", method)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("lb_per_acre", "found"),
    [
        # Rutgers FS719-type table for Mehlich-3 P, lb/acre: 0-24, 25-45, 46-71, 72-137, above 137 (key RUT53);
        # an acre furrow slice of 2 000 000 lb soil, so ppm = lb/acre / 2
        (10, "very_low"),
        (24, "very_low"),
        (26, "low"),
        (44, "low"),
        (50, "medium"),
        (70, "medium"),
        (80, "high"),
        (136, "high"),
        (140, "very_high"),
        (900, "very_high"),
    ],
)
def test_mehlich_phosphorus_by_the_printed_table(lb_per_acre: float, found: str) -> None:
    assert classify("P", "mehlich3", lb_per_acre / 2 * MG_KG) == found


TABLES = sorted({(row["analyte"], row["extractant"]) for row in table("soil_tests") if row["analyte"] in ("P", "K") and row["unit"] in units()})  # fmt: skip


@pytest.mark.parametrize(("key", "extractant"), TABLES)
def test_more_is_never_a_lower_class(key: str, extractant: str) -> None:
    found = [classify(key, extractant, value) for value in np.linspace(0, 2000, 4001) * MG_KG]
    assert None not in found
    places = [CLASSES.index(one) for one in found if one is not None]
    assert places == sorted(places)
    assert places[0] == min(places) < places[-1]


def test_an_extractant_is_never_taken_for_another() -> None:
    value = 20 * MG_KG
    assert classify("P", "olsen", value) != classify("P", "mehlich3", value)
    assert classify("P", "water", value) is None
    assert classify("P", "", value) is None
    assert classify("P", "mehlich3", -1 * MG_KG) is None


@pytest.mark.parametrize(
    ("key", "method", "found"),
    [
        ("P", "Mehlich-3", "mehlich3"),
        ("P", "mehlich 3", "mehlich3"),
        ("P", "Olsen", "olsen"),
        ("P", "something new", "something new"),
        ("P", "", "not stated"),
        ("pH", "1:1 water", "none"),
        ("organic_matter", "loss on ignition", "none"),
        ("EC", "saturated paste", "saturation_extract"),
    ],
)
def test_printed_methods_find_their_table(key: str, method: str, found: str) -> None:
    assert table_key(key, method) == found


def test_a_class_names_a_source_that_exists() -> None:
    assert class_source("P", "Mehlich-3") in sources()
    assert class_source("P", "no such method") == ""


def test_a_laboratory_counts_before_a_typed_line_and_later_before_earlier() -> None:
    test = soil_test(
        "b",
        [typed("P", 10, "mg/kg", "mehlich3"), typed("K", 70, "mg/kg", "mehlich3")],
        [
            report(measured("P", 60), day="2026-10-01", file="new"),
            report(measured("P", 30), day="2020-10-01", file="old"),
        ],
    )
    assert test.value("P") == pytest.approx(60 * MG_KG)
    assert test.value("K") == pytest.approx(70 * MG_KG)
    assert test.origin == ("typed in", "old", "new")


def test_the_latest_typed_line_counts_whatever_its_place() -> None:
    lines = [
        typed("P", 60, "mg/kg", "mehlich3", date(2026, 1, 1)),
        typed("P", 10, "mg/kg", "mehlich3", date(2020, 1, 1)),
    ]
    assert soil_test("b", lines, []).value("P") == pytest.approx(60 * MG_KG)


def test_a_total_does_not_take_the_place_of_what_crops_can_find() -> None:
    test = soil_test("b", [], [report(measured("P", 30), measured("P", 900, "total", "acid digest"))])
    assert test.value("P") == pytest.approx(30 * MG_KG)
    assert test.nutrient_class("P") == "medium"


def test_an_extract_does_not_hide_the_total_lead_of_a_soil() -> None:
    """Limits are set on totals; a later routine test by Mehlich-3 must not make a foundry soil look clean."""
    digest = report(measured("Pb", 180, "total", "acid digest"), day="2025-01-01")
    routine = report(measured("Pb", 12), day="2026-01-01")
    assert soil_test("b", [], [digest, routine]).value("Pb") == pytest.approx(180 * MG_KG)
    assert soil_test("b", [], [routine, digest]).value("Pb") == pytest.approx(180 * MG_KG)


def test_a_non_detect_leaves_no_value() -> None:
    nothing = Determination("P", "extractable", None, "dry", "Mehlich-3", censored="below", limit=5 * MG_KG)
    assert soil_test("b", [], [report(nothing)]).value("P") is None


def test_salt_counts_only_from_a_saturated_paste() -> None:
    paste = soil_test("b", [typed("EC", 2, "dS/m", "saturated paste")], [])
    assert paste.saturated_ec() == pytest.approx(to_si(2, "dS/m"))
    water = soil_test("b", [typed("EC", 2, "dS/m", "1:5 water")], [])
    assert water.saturated_ec() is None
    assert [one.code for one in soil_findings(water, "Bed")] == ["extractant_unknown"]


def test_an_untested_bed_is_told_and_says_what_is_assumed() -> None:
    (finding,) = soil_findings(soil_test("b", [], []), "Bed")
    assert (finding.code, finding.severity, finding.about) == ("bed_untested", "warning", "b")
    assert f"{soil_om_default():.1%}" in finding.text
    assert finding.because


def test_a_value_without_extractant_is_told() -> None:
    test = soil_test("b", [typed("P", 30, "mg/kg")], [])
    assert test.nutrient_class("P") is None
    assert [one.code for one in soil_findings(test, "Bed")] == ["extractant_unknown"]


def test_values_are_shown_as_people_print_them() -> None:
    assert show_value(measured("P", 48.04)) == "48\u00a0mg/kg (Mehlich-3)"
    assert show_value(Determination("pH", "none", 6.6, "none")) == "6.6"


def test_the_strictest_soil_limit_counts() -> None:
    limits = soil_limits("ca-a")
    # CCME soil quality guidelines: lead 70 mg/kg agricultural, 140 residential; recalled
    assert limits["Pb"][0] == pytest.approx(70 * MG_KG)
    assert soil_limits("us")["Pb"][0] <= 400 * MG_KG
    assert {row["jurisdiction"] for _, row in soil_limits("eu").values()} == {"EU"}
