"""What reports say of a quantity, on the scale of its combination."""

import math

import pytest

from loamery.garden.report import Determination, LabReport
from loamery.lab.measured import measured, other_extract
from loamery.lab.precision import between_laboratories

D = Determination


def sample(*rows: Determination, name: str = "a") -> LabReport:
    return LabReport(name, determinations=rows)


def test_dry_value_has_no_part_from_water():
    (one,) = measured([sample(D("N", "total", 0.02, "dry", sd=0.001))], "N")
    assert one.y == pytest.approx(math.log(0.02))
    assert one.own_variance == pytest.approx(math.log1p(0.05**2))
    assert one.water == 0.0


def test_wet_value_moves_with_the_sample_s_water():
    rows = (D("N", "total", 0.008, "as_received", sd=1e-9), D("moisture", "none", 0.6, "as_received", sd=0.02))
    (one,) = measured([sample(*rows)], "N")
    assert one.water == pytest.approx(0.05)
    (water,) = measured([sample(*rows)], "moisture")
    assert water.own_variance == 0.0
    assert water.water == pytest.approx(0.02 / 0.24)


def test_organic_matter_speaks_for_ash():
    (ash,) = measured([sample(D("ash", "none", 0.2, "dry"))], "ash")
    (organic,) = measured([sample(D("organic_matter", "none", 0.8, "dry"))], "ash")
    assert organic.y == pytest.approx(ash.y)
    assert organic.variance == pytest.approx(ash.variance)


def test_carbon_and_nitrogen_from_the_ratio():
    rows = (D("CN", "none", 25.0, "none", sd=1.0), D("N", "total", 0.02, "dry", sd=0.001))
    (carbon,) = measured([sample(*rows)], "C")
    assert math.exp(carbon.y) == pytest.approx(0.5)
    assert carbon.own_variance == pytest.approx(math.log1p((between_laboratories("C", 0.5).sd / 0.5) ** 2))
    (nitrogen,) = measured([sample(rows[0], D("C", "none", 0.5, "dry"))], "N")
    assert math.exp(nitrogen.y) == pytest.approx(0.02)


def test_kjeldahl_and_nitrate_are_one_figure():
    rows = (D("N", "total", 0.018, "dry", method="TKN"), D("NO3_N", "none", 0.002, "dry"))
    (one,) = measured([sample(*rows)], "N")
    assert math.exp(one.y) == pytest.approx(0.02)


def test_order_is_that_of_the_names():
    reports = [sample(D("N", "total", 0.02, "dry"), name=name) for name in ("b", "a")]
    assert [one.report for one in measured(reports, "N")] == ["a", "b"]


@pytest.mark.parametrize(
    ("words", "other"), [("", False), ("1:5", False), ("1:2", True), ("saturated paste", True), ("1:10 water", True)]
)
def test_extract_of_conductivity(words: str, other: bool):
    assert other_extract([sample(D("EC", "none", 0.2, "none", method=words))]) is other


def test_impossible_values_are_no_measurement():
    assert measured([sample(D("N", "total", 0.0, "dry"))], "N") == ()
    assert measured([sample(D("ash", "none", 1.2, "dry"))], "ash") == ()
