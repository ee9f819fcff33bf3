"""Distributions: what goes in as a range comes out as the band; streams are independent and repeatable."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loamery.uncertain import (
    Uncertain,
    band,
    from_range,
    from_rsd,
    from_scale,
    horwitz_rsd,
    percentiles,
    scores,
    to_scale,
)

KINDS = ["lognormal", "logit", "normal"]
shares = st.floats(0.001, 0.999)


@given(st.sampled_from(KINDS), shares)
def test_scales_go_there_and_back(kind: str, value: float) -> None:
    assert float(from_scale(kind, to_scale(kind, value))) == pytest.approx(value, rel=1e-9)


@given(st.sampled_from(KINDS), shares, shares)
def test_a_range_is_its_own_band(kind: str, a: float, b: float) -> None:
    low, high = sorted((a, b))
    found = from_range(kind, low, high).band()
    assert found.low == pytest.approx(low, rel=1e-9)
    assert found.high == pytest.approx(high, rel=1e-9)


@given(st.sampled_from(KINDS), shares, shares, shares)
def test_a_typical_value_is_the_median_and_no_published_value_is_hidden(
    kind: str, a: float, b: float, c: float
) -> None:
    low, typical, high = sorted((a, b, c))
    found = from_range(kind, low, high, typical).band()
    assert found.median == pytest.approx(typical, rel=1e-9)
    assert found.low <= low * (1 + 1e-9)
    assert found.high >= high * (1 - 1e-9)


def test_draws_have_the_median_and_band_they_were_made_with() -> None:
    draws = from_range("lognormal", 0.01, 0.03).draw(200_000, 7, "coffee", "N")
    low, middle, high = np.quantile(draws, [0.05, 0.5, 0.95])
    assert middle == pytest.approx(math.sqrt(0.01 * 0.03), rel=0.01)
    assert low == pytest.approx(0.01, rel=0.015)
    assert high == pytest.approx(0.03, rel=0.015)


@pytest.mark.parametrize("n", [19, 24, 40, 400])
def test_the_outer_percentiles_of_few_draws_hold_the_next_in_nine_of_ten(n: int) -> None:
    drawn = np.random.default_rng(5).random((20_000, n + 1))
    low, middle, high = percentiles(drawn[:, :n])
    next_one = drawn[:, n]
    assert np.mean((low <= next_one) & (next_one <= high)) == pytest.approx(0.9, abs=0.006)  # standard error 0.002
    assert np.mean(next_one > middle) == pytest.approx(0.5, abs=0.01)


def test_percentiles_of_draws_that_may_be_infinite_are_draws() -> None:
    values = np.arange(1.0, 41.0)
    values[-1] = np.inf
    assert percentiles(values, between=False) == pytest.approx([2.0, 20.0, 39.0])
    table = np.stack([values, values + 1.0])
    assert percentiles(table.T, 0, between=False).shape == (3, 2)


def test_shares_stay_shares_and_amounts_stay_positive() -> None:
    assert np.all(np.abs(from_range("logit", 0.01, 0.99).draw(10_000, 1, "x") - 0.5) < 0.5)
    assert np.all(from_range("lognormal", 1e-9, 10.0).draw(10_000, 1, "x") > 0)


def test_the_same_seed_and_stream_repeat_and_others_do_not() -> None:
    one = scores(1000, 1, "coffee", "N")
    assert np.array_equal(one, scores(1000, 1, "coffee", "N"))
    for other in (scores(1000, 2, "coffee", "N"), scores(1000, 1, "coffee", "P"), scores(1000, 1, "coffeeN")):
        assert abs(np.corrcoef(one, other)[0, 1]) < 0.12  # 4 standard errors of 1000 draws
    assert not np.array_equal(scores(10, 1, "ab", "c"), scores(10, 1, "a", "bc"))


def test_fewer_draws_are_the_first_of_more() -> None:
    assert np.array_equal(scores(100, 3, "x"), scores(1000, 3, "x")[:100])


@pytest.mark.parametrize(
    ("kind", "bad"), [("lognormal", 0.0), ("lognormal", -1.0), ("logit", 0.0), ("logit", 1.0), ("logit", 1.2)]
)
def test_values_a_distribution_cannot_hold_are_refused(kind: str, bad: float) -> None:
    with pytest.raises(ValueError, match="must"):
        to_scale(kind, bad)


def test_fixed_numbers_have_no_width() -> None:
    fixed = Uncertain("normal", 6.5, 0.0)
    assert fixed.band() == fixed.band(factor=1.0)
    assert fixed.band().low == fixed.band().high == 6.5
    assert np.all(fixed.draw(5, 1, "pH") == 6.5)


@pytest.mark.parametrize("kind", KINDS)
def test_relative_spread_is_what_was_asked(kind: str) -> None:
    draws = from_rsd(kind, 0.2, 0.05).draw(200_000, 1, kind)
    assert np.median(draws) == pytest.approx(0.2, rel=0.002)
    assert draws.std() / draws.mean() == pytest.approx(0.05, rel=0.02)


def test_bands_of_draws() -> None:
    found = band(np.arange(1, 100), "%", 2.0)  # rank r of 99 stands for r/100
    assert found.low == pytest.approx(10.0)
    assert found.median == pytest.approx(100.0)
    assert found.high == pytest.approx(190.0)
    assert found.unit == "%"


@pytest.mark.parametrize(
    ("mass_frac", "rsd"),
    [
        # AOAC Official Methods, Appendix F (2012), Table D1: predicted RSD_R by concentration
        (1.0, 0.02),
        (0.1, 0.0283),
        (0.01, 0.04),
        (0.001, 0.0566),
        (1e-4, 0.08),
        (1e-5, 0.1131),
        (1e-6, 0.16),
        (1e-7, 0.22),  # the table prints 22.6; Thompson's constant holds below 1.2e-7
    ],
)
def test_horwitz(mass_frac: float, rsd: float) -> None:
    if mass_frac > 0.138:  # Thompson 2000 (Analyst 125:385, recalled): sigma = 0.01 C^0.5, so 1 % at C = 1
        assert horwitz_rsd(mass_frac) == pytest.approx(0.01 / math.sqrt(mass_frac), rel=1e-9)
    else:
        assert horwitz_rsd(mass_frac) == pytest.approx(rsd, abs=6e-4)


def test_horwitz_is_continuous_where_its_pieces_meet() -> None:
    for edge in (1.2e-7, 0.138):
        assert horwitz_rsd(edge * 0.9999) == pytest.approx(horwitz_rsd(edge * 1.0001), rel=0.01)


@pytest.mark.parametrize("bad", [0.0, -1e-6, 1.01, float("nan")])
def test_horwitz_refuses_what_is_no_concentration(bad: float) -> None:
    with pytest.raises(ValueError, match="concentration"):
        horwitz_rsd(bad)
