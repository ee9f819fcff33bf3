"""The label grade: contract figures, bases, and what cannot be known."""

import pytest

from loamery.errors import Where
from loamery.garden.report import Determination, LabReport
from loamery.lab.label import label_grade
from loamery.units import element_share

D = Determination


def contract(*more: Determination, moisture: float | None = None) -> LabReport:
    rows = [
        D("N", "total", 0.0205, "dry", raw_name="Total N", raw_value="2.05", raw_unit="%", where=Where("a.csv", row=4)),
        D("P", "total", 1300e-6, "dry"),
        D("K", "total", 6200e-6, "dry"),
    ]
    if moisture is not None:
        rows.append(D("moisture", "none", moisture, "as_received", where=Where("a.csv", row=9)))
    return LabReport("a.csv", determinations=(*rows, *more))


def extractables() -> tuple[Determination, ...]:
    return (
        D("NH4_N", "none", 5.0e-6, "dry"),
        D("NO3_N", "none", 3.3e-6, "dry"),
        D("P", "extractable", 0.002016 * element_share("P", "P2O5"), "dry"),
        D("K", "extractable", 0.00771 * element_share("K", "K2O"), "dry"),
    )


def test_contract_in_the_long_run():
    grade = label_grade(contract()).as_dict()["long_run"]["dry"]
    assert grade["N"] == pytest.approx(2.05, abs=1e-12)
    assert grade["P2O5"] == pytest.approx(0.2979, abs=5e-5)
    assert grade["K2O"] == pytest.approx(0.7469, abs=5e-5)


def test_contract_today():
    grade = label_grade(contract(*extractables())).as_dict()["today"]["dry"]
    assert grade["N"] == pytest.approx(0.00083, abs=5e-9)
    assert grade["P2O5"] == pytest.approx(0.2016, abs=1e-9)
    assert grade["K2O"] == pytest.approx(0.771, abs=1e-9)


def test_json_shape():
    out = label_grade(contract()).as_dict()
    assert set(out) == {"long_run", "today"}
    assert all(set(out[when]) == {"dry", "as_received"} for when in out)
    assert all(set(grade) == {"N", "P2O5", "K2O"} for sides in out.values() for grade in sides.values())


def test_as_received_through_the_sample_s_own_moisture():
    grade = label_grade(contract(moisture=0.6)).long_run
    assert grade["as_received"]["N"] == pytest.approx(0.82, rel=1e-12)
    assert grade["dry"]["N"] == pytest.approx(2.05, rel=1e-12)


def test_dry_from_as_received():
    received = LabReport(
        "b.csv", determinations=(D("N", "total", 0.0082, "as_received"), D("moisture", "none", 0.6, "as_received"))
    )
    assert label_grade(received).long_run["dry"]["N"] == pytest.approx(2.05, rel=1e-12)


def test_no_moisture_is_none_and_said():
    made = label_grade(contract())
    assert made.long_run["as_received"] == {"N": None, "P2O5": None, "K2O": None}
    assert [one.code for one in made.findings] == ["no_moisture", "no_extractable"]


def test_no_extractable_is_none_and_said():
    made = label_grade(contract(moisture=0.6))
    assert made.today["dry"] == {"N": None, "P2O5": None, "K2O": None}
    assert [one.code for one in made.findings] == ["no_extractable"]


def test_basis_not_stated_is_not_used():
    loose = LabReport("c.csv", determinations=(D("N", "total", 0.0205, "not_stated"),))
    made = label_grade(loose)
    assert made.long_run["dry"]["N"] is None and made.long_run["as_received"]["N"] is None
    assert "basis_not_stated" in [one.code for one in made.findings]


def test_kjeldahl_takes_nitrate_along():
    kjeldahl = LabReport(
        "d.csv", determinations=(D("N", "total", 0.018, "dry", method="TKN"), D("NO3_N", "none", 0.002, "dry"))
    )
    made = label_grade(kjeldahl)
    assert made.long_run["dry"]["N"] == pytest.approx(2.0, rel=1e-12)
    assert "Kjeldahl" in " ".join(one.text for one in made.findings)


def test_one_form_of_mineral_nitrogen_alone_is_a_floor_and_said():
    made = label_grade(contract(D("NO3_N", "none", 1e-5, "dry")))
    assert made.today["dry"]["N"] == pytest.approx(0.001, rel=1e-12)
    assert any("ammonium" in one.text for one in made.findings)


def test_non_detect_is_not_zero():
    limit = D("P", "extractable", None, "dry", censored="below", limit=1e-5)
    made = label_grade(contract(limit))
    assert made.today["dry"]["P2O5"] is None
    assert "non_detect" in [one.code for one in made.findings]


def test_every_number_has_a_trace_to_its_cell():
    made = label_grade(contract(*extractables(), moisture=0.6))
    numbers = [one for sides in made.as_dict().values() for grade in sides.values() for one in grade.values()]
    assert len(made.traces) == sum(one is not None for one in numbers) == 12
    wet = next(one for one in made.traces if one.id.endswith("long_run/as_received/N"))
    assert "(1 − moisture)" in wet.equation
    assert [one.where for one in wet.inputs] == ["a.csv, row 4", "a.csv, row 9"]


def test_printed_grade():
    assert label_grade(contract()).text("long_run") == "2.05 - 0.298 - 0.747"
    assert label_grade(contract()).text("today") == "? - ? - ?"
