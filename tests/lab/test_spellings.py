"""Names, units, bases and extractants in the words laboratories use."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

import loamery.reference
from loamery.lab.spellings import extractant_of, has_forms, parse_phrase, parse_unit
from loamery.lab.vocabulary import analyte_table, norm, unit_table
from loamery.names import quantities
from loamery.reference import sources
from loamery.units import molar_mass, units

DATA = Path(loamery.reference.__file__).parent / "data"
FILES = ("analyte_spellings", "unit_spellings", "method_spellings", "report_words")


@pytest.mark.parametrize(
    ("text", "key", "species", "fraction"),
    [
        ("Total Nitrogen (N)", "N", "N", "total"),
        ("Nitrogen, total", "N", "", "total"),
        ("TKN", "N", "", "total"),
        ("Gesamtstickstoff", "N", "", "total"),
        ("Azote total (N)", "N", "N", "total"),
        ("Nitrógeno total", "N", "", "total"),
        ("Phosphorus", "P", "", ""),
        ("Phosphorus (as P2O5)", "P", "P2O5", ""),
        ("Phosphate (P₂O₅), total", "P", "P2O5", "total"),
        ("Potash (K2O)", "K", "K2O", ""),
        ("P/P2O5", "P", "P|P2O5", ""),
        ("Calcium as CaO", "Ca", "CaO", ""),
        ("Nitrate (NO3)", "NO3_N", "NO3", ""),
        ("Nitrate", "NO3_N", "NO3|N", ""),
        ("Nitrate-N (NO3-N)", "NO3_N", "N", ""),
        ("Ammonium-N", "NH4_N", "N", ""),
        ("Mehlich-3 P", "P", "P", "extractable"),
        ("P (Olsen)", "P", "P", "extractable"),
        ("Bray P1", "P", "P", "extractable"),
        ("P2O5 (CAL)", "P", "P2O5", "extractable"),
        ("Exchangeable Potassium (NH4OAc)", "K", "", "extractable"),
        ("DTPA-Zn", "Zn", "Zn", "extractable"),
        ("Available phosphate (P2O5)", "P", "P2O5", "extractable"),
        ("Arsenic (As)", "As", "As", ""),
        ("Total As", "As", "As", "total"),
        ("ARSENIC AS MG/KG", "As", "As", ""),
        ("Chromium (VI)", "CrVI", "", ""),
        ("Blei", "Pb", "", ""),
        ("Cuivre", "Cu", "", ""),
        ("pH (1:5 water)", "pH", "", ""),
        ("C/N-Verhältnis", "CN", "", ""),
        ("Carbon : Nitrogen ratio", "CN", "", ""),
        ("Conductivity 1:5", "EC", "", ""),
        ("Organic Matter (LOI)", "organic_matter", "", ""),
        ("Wassergehalt", "moisture", "", ""),
    ],
)
def test_analytes(text, key, species, fraction):
    phrase = parse_phrase(text)
    one = phrase.analyte
    assert one is not None
    assert (one.quantity, one.species, one.fraction or phrase.fraction) == (key, species, fraction)


@pytest.mark.parametrize("text", ["Dry matter", "Total solids %", "Matière sèche", "Trockensubstanz", "DM", "TS"])
def test_dry_matter_is_the_other_side_of_moisture(text):
    assert parse_phrase(text).analyte.role == "solids"


@pytest.mark.parametrize(
    "text",
    ["Vigour quotient", "nitrogen fixing bacteria", "N, P and K", "Fraction Q", "Row B", "", "Potassium sorbate"],
)
def test_what_is_not_wholly_understood_is_no_analyte(text):
    assert parse_phrase(text).analyte is None


@pytest.mark.parametrize(
    "text", ["Total nitrogen (duplicate)", "RPD total nitrogen", "Method blank, nitrogen", "Spike recovery, P"]
)
def test_quality_control_rows_are_known(text):
    assert parse_phrase(text).qc == "qc"


@pytest.mark.parametrize(
    ("text", "unit", "basis", "species"),
    [
        ("%", "%", "", ""),
        ("% DM", "%", "dry", ""),
        ("% TM", "%", "dry", ""),
        ("% MS", "%", "dry", ""),
        ("% FM", "%", "as_received", ""),
        ("% as rec'd", "%", "as_received", ""),
        ("g/100 g TS", "%", "dry", ""),
        ("mg/kg (dry wt.)", "mg/kg", "dry", ""),
        ("mg kg⁻¹ DM", "mg/kg", "dry", ""),
        ("ppm", "mg/kg", "", ""),
        ("µg/g", "mg/kg", "", ""),
        ("lb/ton as received", "lb/ton", "as_received", ""),
        ("meq/100 g", "meq/100g", "", ""),
        ("cmol(+)/kg", "meq/100g", "", ""),
        ("mmhos/cm", "dS/m", "", ""),
        ("µS/cm", "uS/cm", "", ""),
        ("lb/yd³", "lb/yd3", "", ""),
        ("kg/m³", "kg/m3", "", ""),
        ("mg/kg as N", "mg/kg", "", "N"),
        ("% P2O5", "%", "", "P2O5"),
        ("% of TKN", "% of N", "", ""),
    ],
)
def test_units(text, unit, basis, species):
    found = parse_unit(text)
    assert found is not None
    assert (found.unit, found.basis, found.species) == (unit, basis, species)


@pytest.mark.parametrize("text", ["mg/L", "kg/ha", "lb/1000 gal", "% saturation"])
def test_units_that_cannot_be_used_say_why(text):
    found = parse_unit(text)
    assert found is not None
    assert found.unit == ""
    assert found.note


@pytest.mark.parametrize("text", ["index", "Result", "dry", "", "05"])
def test_no_unit(text):
    assert parse_unit(text) is None


@pytest.mark.parametrize(
    ("text", "slug"),
    [
        ("Mehlich-3", "mehlich3"),
        ("Olsen", "olsen"),
        ("Bray-1", "bray1"),
        ("NH4OAc", "ammonium_acetate"),
        ("DTPA", "dtpa"),
        ("ICP-OES", ""),
    ],
)
def test_extractants(text, slug):
    assert extractant_of(text) == slug


def test_forms_matter_for_elements_alone():
    assert all(has_forms(key) for key in ("N", "P", "K", "Zn", "B"))
    assert not any(has_forms(key) for key in ("pH", "moisture", "C", "NO3_N", "NH4_N", "organic_matter", "CCE"))


@pytest.mark.parametrize("name", FILES)
def test_every_row_names_a_source_that_exists(name):
    with (DATA / f"{name}.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            assert row["source"] in sources(), row
            assert row["read"] in ("found", "recalled")


def test_vocabulary_points_at_known_things():
    for one in analyte_table().values():
        assert one.quantity in quantities() or one.role == "left_out"
        for species in filter(None, one.species.split("|")):
            assert molar_mass(species) > 0
    assert all(unit in units() or unit in ("", "% of N") for unit, _ in unit_table().values())


def test_norm_forgets_accents_and_marks():
    assert norm("Matière Sèche") == "matiere seche"
    assert norm("P₂O₅") == "p2o5"
