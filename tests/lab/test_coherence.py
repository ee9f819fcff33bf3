"""Draws that belong together."""

import numpy as np
import pytest

from loamery.garden.report import Determination, LabReport
from loamery.lab.coherence import fitted
from loamery.lab.combine import compose

D = Determination


def test_fit_is_that_of_the_logarithms():
    drawn = np.array([1.0, 2.0, 4.0])
    found = fitted(drawn)
    assert found.median == pytest.approx(2.0)
    assert found.sigma == pytest.approx(np.std(np.log(drawn)))


def test_mineral_nitrogen_stays_below_nitrogen():
    rows = (D("N", "total", 0.01, "dry"), D("NH4_N", "none", 0.008, "dry"), D("NO3_N", "none", 0.008, "dry"))
    made = compose("manure-layer", [LabReport("a", determinations=rows)])
    total = made.draws("NH4_N") + made.draws("NO3_N")
    assert np.all(total <= made.draws("N") * (1 + 1e-9))


def test_extractable_above_total_within_uncertainty_is_kept_below_it_in_the_draws():
    rows = (D("K", "total", 0.0062, "dry"), D("K", "extractable", 0.0064, "dry"))
    made = compose("coffee-spent", [LabReport("a", determinations=rows)])
    assert np.all(made.draws("K:extractable") <= made.draws("K"))
    assert "at most the total" in made["K:extractable"].equation


def test_printed_ratio_without_carbon_narrows_the_ratio():
    rows = (D("N", "total", 0.02, "dry"), D("CN", "none", 25.0, "none"))
    plain = compose("leaves-mixed", [LabReport("a", determinations=rows[:1])])["CN"].band()
    more = compose("leaves-mixed", [LabReport("a", determinations=rows)])["CN"].band()
    assert more.high / more.low < plain.high / plain.low
