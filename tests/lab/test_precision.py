"""How well a laboratory knows a number."""

import pytest

from loamery.garden.report import Determination
from loamery.lab.precision import between_laboratories, on_scale, precision
from loamery.uncertain import horwitz_rsd

D = Determination


def test_horwitz_times_inflation_by_default():
    found = precision(D("N", "total", 0.02, "dry"))
    assert found.sd == pytest.approx(0.02 * 1.75 * horwitz_rsd(0.02), rel=1e-12)
    assert "AOACD1" in found.sources


def test_stated_deviation_wins():
    assert precision(D("N", "total", 0.02, "dry", sd=0.001, replicates=(0.01, 0.03))).sd == 0.001


def test_deviation_larger_than_the_value_is_not_believed():
    assert precision(D("N", "total", 0.02, "dry", sd=0.5)).sd == precision(D("N", "total", 0.02, "dry")).sd


def test_replicates_tell_about_repeats_not_about_the_laboratory():
    same = precision(D("N", "total", 0.02, "dry", replicates=(0.02, 0.02)))
    assert same.sd == pytest.approx(0.8 * precision(D("N", "total", 0.02, "dry")).sd, rel=1e-9)
    apart = precision(D("N", "total", 0.02, "dry", replicates=(0.018, 0.022)))
    assert apart.sd == pytest.approx((same.sd**2 + 0.002828427**2 / 2) ** 0.5, rel=1e-6)


def test_horwitz_is_not_used_where_it_does_not_apply():
    assert between_laboratories("pH", 6.0).sd == 0.15
    assert between_laboratories("moisture", 0.6).sd == pytest.approx(0.018)
    assert between_laboratories("EC", 0.2).sd == pytest.approx(0.024)


def test_ashing_error_belongs_to_the_smaller_share():
    assert between_laboratories("organic_matter", 0.98).sd == pytest.approx(0.001)
    assert between_laboratories("ash", 0.4).sd == pytest.approx(0.016)
    assert between_laboratories("organic_matter", 0.6).sd == pytest.approx(0.016)


def test_scales():
    assert on_scale("logit", 0.5, 0.01) == pytest.approx(0.04)
    assert on_scale("normal", 6.0, 0.15) == 0.15
    assert on_scale("lognormal", 2.0, 0.02) == pytest.approx(0.01, rel=1e-4)
