"""What the reading and the checks of reports say is French for who reads French."""

import pytest

from loamery.garden.report import Determination, LabReport
from loamery.lab.cells import CellValue
from loamery.lab.checks import check_report
from loamery.lab.label import label_grade
from loamery.lab.reading import read_report
from loamery.say import is_told, told


def coffee(**shares):
    return LabReport("r.csv", determinations=tuple(Determination(k, "total", v, "dry") for k, v in shares.items()))


def test_a_slip_is_told_whole():
    found = next(one for one in check_report(coffee(P=0.00339), "coffee-spent") if one.code == "oxide_as_element")
    assert told(found.text, "fr").startswith("Phosphore s’accorde avec du P2O5 imprimé comme P (facteur 2,291)")
    assert "contre" in told(found.because, "fr") and "corrig" in told(found.because, "fr")


def test_a_power_of_ten_and_what_else_would_fit():
    found = next(one for one in check_report(coffee(N=0.00022), "coffee-spent") if one.code == "unit_slip")
    assert "une erreur d’un facteur 10^-2" in told(found.text, "fr")


def test_questions_and_remarks_of_a_file(tmp_path):
    path = tmp_path / "r.csv"
    path.write_text("Analyte,Result,Unit\nNitrogen,2.1,\nMoisture,61,%\nWonder,3,%\nPhosphorus,12/4/2026,%\n")
    report = read_report(path)[0]
    for one in report.questions:
        assert is_told(one.text, "fr"), one.text
    for one in (*report.findings, *label_grade(report).findings):
        assert is_told(one.text, "fr") and is_told(one.because, "fr"), one
    assert any("n’est pas un élément connu ici" in told(one.text, "fr") for one in report.findings)


@pytest.mark.parametrize("printed", ["1.234", "1,234"])
def test_a_print_that_may_be_read_in_two_ways_is_quoted_to_the_letter(printed):
    from loamery.lab.values import _two_readings

    text = told(_two_readings(CellValue("ambiguous", printed, low=1.234, high=1234.0)).text, "fr")
    assert f"«\u00a0{printed}\u00a0» peut être 1.234 ou 1234" in text
