"""A doubtful value is set aside, confirmed or corrected: by a person, never by itself."""

from __future__ import annotations

import pytest

from loamery.errors import InputError
from loamery.garden.model import ReportEntry
from loamery.lab.checks import check_report
from loamery.lab.combine import compose
from loamery.lab.reading import read_report
from loamery.lab.settle import settle

KIND = "brewers-grain"
PAGE = "Laboratory (invented)\nanalyte,result,unit,basis\nMoisture,76,%,as received\nTotal nitrogen,4.1,mg/kg,dry\nTotal phosphorus,0.57,%,dry\n"


def settled(tmp_path, page=PAGE, kind=KIND, **answers):
    file = tmp_path / "grain.csv"
    file.write_text(page, encoding="utf-8")
    (report,) = read_report(file)
    report = report.with_findings(tuple(check_report(report, kind)))
    return settle(report, ReportEntry(file="grain.csv", material="grain", answers=answers))


def test_a_slip_is_set_aside_and_told(tmp_path):
    report = settled(tmp_path)
    assert report.get("N") is None
    assert report.get("P").value == pytest.approx(0.0057, rel=1e-12)
    (told,) = [one for one in report.findings if one.code == "set_aside"]
    assert told.about == "N"
    assert "4.1 %" in told.proposal


def test_a_corrected_value_takes_its_place(tmp_path):
    report = settled(tmp_path, **{"use N": "4.1 %"})
    assert report.get("N").value == pytest.approx(0.041, rel=1e-12)
    composition = compose(KIND, [report])
    assert composition["N"].origin == "measured and published"


def test_a_value_confirmed_as_printed_counts(tmp_path):
    report = settled(tmp_path, **{"use N": "as printed"})
    assert report.get("N").value == pytest.approx(4.1e-6, rel=1e-12)
    assert compose(KIND, [report])["N"].origin == "measured and published"


def test_left_out_stays_out(tmp_path):
    report = settled(tmp_path, **{"use N": "leave out", "use P": "leave out"})
    assert report.get("N") is None
    assert report.get("P") is None


@pytest.mark.parametrize("answer", ["4.1", "4.1 furlong", "maybe", "4.1 dS/m"])
def test_an_answer_that_is_none_is_refused(tmp_path, answer):
    with pytest.raises(InputError, match="use N"):
        settled(tmp_path, **{"use N": answer})


def test_one_correction_stands_for_both_columns(tmp_path):
    page = (
        "Laboratory (invented)\nanalyte,unit,dry basis,as received\nTotal nitrogen,%,1.70,0.56\n"
        "Total potassium,%,0.45,0.45\nTotal calcium,%,1.39,0.46\nMoisture,%,,67\n"
    )
    report = settled(tmp_path, page, "manure-horse-straw", **{"use K": "1.364 %"})
    (potassium,) = report.all("K")
    assert potassium.basis == "dry"
    assert potassium.value == pytest.approx(0.01364, rel=1e-12)


def test_a_contaminant_is_never_set_aside(tmp_path):
    page = PAGE + "Lead,400,mg/kg,dry\n"
    report = settled(tmp_path, page)
    assert report.get("Pb").value == pytest.approx(4e-4, rel=1e-12)
