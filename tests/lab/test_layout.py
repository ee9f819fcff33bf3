"""Where things stand: which cells are names, values, units, bases, samples."""

from __future__ import annotations

import pytest

from loamery.lab.facts import Facts, iso_date, pairs, stated_basis, subject_of, take_line
from loamery.lab.heads import head_of, is_head_row, qc_word
from loamery.lab.layout import lay_out, orientation
from loamery.lab.tables import Cell, Document, Grid


def grid(text, delimiter=","):
    rows = tuple(
        tuple(Cell(cell.strip(), r, c) for c, cell in enumerate(line.split(delimiter), 1))
        for r, line in enumerate(text.strip("\n").split("\n"), 1)
    )
    return Grid(rows, "made.csv")


def entries(text):
    sheets, _ = lay_out(Document("made.csv", (grid(text),)))
    return {
        sheet.name: {
            (one.name, "/".join(cell.text for cell in one.values)): (one.units, next((b for b in one.bases if b), ""))
            for one in sheet.entries
        }
        for sheet in sheets
    }


@pytest.mark.parametrize(
    ("text", "way"),
    [
        ("Analyte,Result\nTotal N,2\nTotal P,3", "down"),
        ("Result,Analyte\n2,Total N\n3,Total P", "down"),
        ("Sample,Total N,Total P\nA,2,3\nB,2,3", "across"),
        ("Sample,Total N\nB,2\nC,3\nK,4", "across"),
        ("Total N,Total P,Sample\n%,%,\n2,3,A", "across"),
        ("The barrow stands,where it was left", "none"),
    ],
)
def test_orientation(text, way):
    assert orientation(grid(text)) == way


def test_any_order_of_columns():
    found = entries("Unit,Found,Basis,Determination\n%,0.94,dry,Total N\nmg/kg,58,as received,Zinc")
    assert found == {"": {("Total N", "0.94"): (("%",), "dry"), ("Zinc", "58"): (("mg/kg",), "as received")}}


def test_dry_and_as_received_columns():
    found = entries("Analyte,Unit,As received,Dry basis\nTotal N,%,0.74,1.85")
    assert found == {"": {("Total N", "0.74"): (("%",), "as_received"), ("Total N", "1.85"): (("%",), "dry")}}


def test_heads_of_two_lines():
    found = entries(",Dry basis,,As received,\nAnalyte,Result,Unit,Result,Unit\nTotal N,1.85,%,7.4,g/kg")
    assert found == {"": {("Total N", "1.85"): (("%",), "dry"), ("Total N", "7.4"): (("g/kg",), "as_received")}}


def test_samples_side_by_side_may_be_called_anything():
    found = entries("Analyte,Unit,Compost,26-1141\nTotal N,%,2,3")
    assert found == {"Compost": {("Total N", "2"): (("%",), "")}, "26-1141": {("Total N", "3"): (("%",), "")}}


def test_symbol_column_says_what_is_counted():
    found = entries("Nutrient,Result,Reported as,Unit\nPhosphorus,0.67,P2O5,%\nPotassium,0.7,K2O,%")
    assert set(found[""]) == {("Phosphorus (P2O5)", "0.67"), ("Potassium (K2O)", "0.7")}


def test_replicates_and_their_mean():
    sheets, _ = lay_out(Document("made.csv", (grid("Analyte,Rep 1,Rep 2,Mean,Unit\nTotal N,1.4,1.6,1.5,%"),)))
    (one,) = sheets[0].entries
    assert [cell.text for cell in one.values] == ["1.4", "1.6"]
    assert one.mean.text == "1.5"


def test_limits_signs_and_spread():
    sheets, _ = lay_out(
        Document("made.csv", (grid("Analyte,,Result,SD,RL,Units\nCadmium,<,0.5,0.1,0.2,mg/kg\nZinc,,5,1,2,mg/kg"),))
    )
    one = sheets[0].entries[0]
    assert (one.qualifier, one.values[0].text, one.sd.text, one.limit.text) == ("<", "0.5", "0.1", "0.2")


def test_columns_that_are_not_results_are_left_out():
    found = entries("Analyte,Result,Typical range,Guideline,RPD,Unit\nLead,26,5-50,150,12,mg/kg")
    assert set(found[""]) == {("Lead", "26")}


def test_numbers_without_heads_are_not_guessed():
    sheets, _ = lay_out(Document("made.csv", (grid("Total N,2.05,3.01,%\nTotal P,0.1,0.2,%"),)))
    assert all(one.unlabelled for one in sheets[0].entries)


def test_a_row_longer_than_its_head_is_ragged():
    sheets, _ = lay_out(Document("made.csv", (grid("Analyte,Result,Unit\nTotal N,2,05,%\nTotal P,1,%"),)))
    assert [one.ragged for one in sheets[0].entries] == [True, False]


def test_stacked_samples_keep_their_own_basis():
    found = entries(
        "Sample,A\nResults on dry basis\nAnalyte,Result\nTotal N,1\nSample,B\nResults on as received basis\nResult,Analyte\n2,Total N"
    )
    assert found == {"A": {("Total N", "1"): ((), "dry")}, "B": {("Total N", "2"): ((), "as_received")}}


def test_a_price_list_is_no_result():
    found = entries("Service,Price\nNitrogen,18.50\nMetals,60")
    assert not any(found.values())


def test_footnote_holds_where_nothing_else_does():
    found = entries("Analyte,Result,Unit\nTotal N,2,%\nAll results are reported on a dry weight basis.")
    assert found[""][("Total N", "2")] == (("%",), "dry")


@pytest.mark.parametrize(
    ("text", "basis"),
    [
        ("Results on dry matter basis, moisture as received", "dry"),
        ("Reported as received (wet) basis", "as_received"),
        ("dry basis unless otherwise stated", "dry"),
        ("Angaben bezogen auf TS", "dry"),
        ("Résultats exprimés sur sec", "dry"),
        ("Resultados en base húmeda", "as_received"),
        ("Results relate only to the sample as received.", ""),
        ("Results refer to the sample as submitted.", ""),
        ("Condition as received: moist", ""),
        ("Dry leaves from the yard", ""),
        ("N is reported as received; all other results on dry basis", "both"),
        ("Results are not on dry basis", "both"),
    ],
)
def test_stated_basis(text, basis):
    assert stated_basis(text) == basis


@pytest.mark.parametrize(
    ("texts", "subject"),
    [
        (["Soil test report"], "soil"),
        (["Spent coffee grounds"], "material"),
        (["Brackwater Soil & Plant Laboratory", "Compost"], "material"),
        (["Soil amendment"], "material"),
        (["Soil and compost samples"], "both"),
        (["North border"], ""),
    ],
)
def test_subject(texts, subject):
    assert subject_of(texts) == subject


@pytest.mark.parametrize(
    ("text", "role", "basis", "unit"),
    [
        ("Result", "result", "", ""),
        ("Result, mg/kg dry weight", "result", "dry", "mg/kg"),
        ("Reporting limit", "limit", "", ""),
        ("% as is", "result", "as_received", "%"),
        ("Typical value", "ignore", "", ""),
        ("Test method", "method", "", ""),
        ("Rep 2", "replicate", "", ""),
        ("Leaf pile A", "unknown", "", ""),
        ("RPD", "qc", "", ""),
    ],
)
def test_heads(text, role, basis, unit):
    head = head_of([text])
    assert (head.role, head.basis, head.unit) == (role, basis, unit)


def test_head_rows_and_key_words():
    assert is_head_row(grid("Analyte,Unit,4411,4412").rows[0])
    assert not is_head_row(grid("Zinc,see note,mg/kg").rows[0])
    assert pairs(grid("Sample ID:,B-7,Date sampled,2026-10-19").rows[0]) == [
        ("sample", "B-7"),
        ("sampled_on", "2026-10-19"),
    ]
    assert pairs(grid("Sample,Result,Unit").rows[0]) == []
    assert [qc_word(text) for text in ("Method blank", "RL", "A dup", "Pile A")] == ["qc", "limit", "qc", ""]


def test_dates_and_the_mark():
    assert [iso_date(text) for text in ("19 October 2026", "2026-10-19", "19.10.2026", "10/19/2026", "03/04/2026")] == [
        "2026-10-19"
    ] * 4 + [""]
    facts = Facts()
    take_line(facts, "A laboratory that is invented")
    assert facts.invented


def test_the_basis_of_one_sample_is_not_lent_to_the_next():
    found = entries("Sample,A\nResults on dry basis\nAnalyte,Result\nTotal N,1\nSample,B\nAnalyte,Result\nTotal N,2")
    assert found == {"A": {("Total N", "1"): ((), "dry")}, "B": {("Total N", "2"): ((), "")}}
    before = entries("Results on dry basis\nSample,A\nAnalyte,Result\nTotal N,1\nSample,B\nAnalyte,Result\nTotal N,2")
    assert before["B"] == {("Total N", "2"): ((), "dry")}
