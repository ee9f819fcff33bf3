"""One sample on one basis: which figure is taken and how it is converted."""

import math

import pytest

from loamery.errors import Where
from loamery.garden.report import Determination, LabReport
from loamery.lab.sample import as_input, figure, moisture_of, names_in, shown, total_nitrogen

D = Determination


def sample(*rows: Determination) -> LabReport:
    return LabReport("a.csv", determinations=rows)


WATER = D("moisture", "none", 0.6, "as_received", sd=0.02)


def test_printed_basis_comes_before_conversion():
    both = sample(D("N", "total", 0.009, "as_received"), D("N", "total", 0.02, "dry"), WATER)
    assert figure(both, "N", "dry").value == 0.02
    assert figure(both, "N", "as_received").value == 0.009


def test_conversion_carries_the_error_of_moisture():
    found = figure(sample(D("N", "total", 0.008, "as_received", sd=0.0004), WATER), "N")
    assert found.value == pytest.approx(0.02)
    assert found.sd == pytest.approx(0.001)
    assert found.combined_sd == pytest.approx(math.hypot(0.001, 0.02 * 0.02 / 0.4))


def test_published_rule_of_thumb_for_moisture_error():
    # Two points at 60 % moisture are 5 % of a dry value, at 80 % they are 10 % (arithmetic).
    for water, expected in ((0.6, 0.05), (0.8, 0.10)):
        rows = (D("N", "total", 0.01, "as_received", sd=1e-9), D("moisture", "none", water, "as_received", sd=0.02))
        found = figure(sample(*rows), "N")
        assert found.combined_sd / found.value == pytest.approx(expected, rel=1e-6)


def test_unstated_basis_and_missing_moisture_give_nothing():
    assert figure(sample(D("N", "total", 0.02, "not_stated"), WATER), "N") is None
    assert figure(sample(D("N", "total", 0.02, "as_received")), "N") is None


def test_combustion_comes_before_kjeldahl():
    both = sample(D("N", "total", 0.018, "dry", method="TKN"), D("N", "total", 0.02, "dry", method="combustion"))
    assert figure(both, "N").value == 0.02


def test_kjeldahl_and_nitrate_add_up():
    rows = (D("N", "total", 0.018, "dry", method="TKN"), D("NO3_N", "none", 0.002, "dry"))
    assert [one.value for one in total_nitrogen(sample(*rows))] == [0.018, 0.002]
    assert len(total_nitrogen(sample(D("N", "total", 0.018, "dry"), rows[1]))) == 1


def test_non_detect_only_when_asked_for():
    row = D("Cd", "total", None, "dry", censored="below", limit=1e-6)
    assert figure(sample(row), "Cd") is None
    found = figure(sample(row), "Cd", censored=True)
    assert found.censored and found.value == 1e-6


def test_measured_value_comes_before_a_limit():
    rows = (D("Cd", "total", None, "dry", censored="below", limit=1e-6), D("Cd", "total", 2e-7, "dry"))
    assert figure(sample(*rows), "Cd", censored=True).value == 2e-7


def test_non_detect_without_a_limit_is_not_usable():
    assert figure(sample(D("Cd", "total", None, "dry", censored="below")), "Cd", censored=True) is None


def test_moisture_of_hundred_percent_is_no_moisture():
    assert moisture_of(sample(D("moisture", "none", 1.0, "as_received"))) is None


def test_input_shows_what_was_printed_and_where():
    row = D(
        "N", "total", 0.008, "as_received", raw_name="Tot. N", raw_value="0,80", raw_unit="%", where=Where("a", row=3)
    )
    found = as_input(figure(sample(row, WATER), "N"))
    assert (found.label, found.value, found.where) == ("Tot. N", "0,80 %, as received", "a, row 3")


def test_names_and_numbers_people_read():
    assert names_in(sample(D("P", "extractable", 1e-4, "dry"), WATER)) == ("P:extractable", "moisture")
    assert shown(0.0205, "N") == "2.05 %"
    assert shown(5.4, "pH") == "5.4"
    assert shown(2e-7, "Cd") == "0.2 mg/kg"
