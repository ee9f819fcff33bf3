"""Layouts that say form or basis in places of their own: a fraction column, brackets behind the sample's name."""

from __future__ import annotations

import pytest

from loamery.lab.label import label_grade
from loamery.lab.reading import read_report

FRACTION_COLUMN = """name,amount,unit,fraction,basis
nitrogen,2.05,percent,total,dry
phosphorus,1300,mg/kg,total,dry
potassium,6200,mg/kg,total,dry
phosphorus,880,mg/kg,extractable,dry
potassium,6400,mg/kg,extractable,dry
nitrogen,8.3,mg/kg,extractable,dry
"""
BRACKETS = """Sample ID,Spent grounds (dry basis)
Nitrogen (total) %,2.05
Phosphorus (total) mg/kg,1300
Potassium (total) mg/kg,6200
Phosphorus (extractable) mg/kg,880
Potassium (extractable) mg/kg,6400
Nitrate-N mg/kg,8.3
"""


@pytest.mark.parametrize("page", [FRACTION_COLUMN, BRACKETS])
def test_total_and_extractable_are_told_apart(tmp_path, page):
    file = tmp_path / "report.csv"
    file.write_text(page, encoding="utf-8")
    (report,) = read_report(file)
    assert not report.questions
    grade = label_grade(report).as_dict()
    long_run, today = grade["long_run"]["dry"], grade["today"]["dry"]
    assert [long_run[term] for term in ("N", "P2O5", "K2O")] == pytest.approx([2.05, 0.2979, 0.7469], rel=2e-4)
    assert [today[term] for term in ("N", "P2O5", "K2O")] == pytest.approx([0.00083, 0.2016, 0.7709], rel=3e-4)


def test_a_dry_name_says_nothing_of_the_basis(tmp_path):
    file = tmp_path / "report.csv"
    file.write_text("Sample ID,Dry leaves\nTotal nitrogen %,0.9\nTotal phosphorus %,0.1\n", encoding="utf-8")
    (report,) = read_report(file)
    assert "basis" in [one.key for one in report.questions]
    assert report.get("N") is None
