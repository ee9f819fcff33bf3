"""How material decays on a bed: published tables, and what must hold for every material."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.release import (
    Decay,
    decay_of,
    mulch_left,
    salt_rise,
    salts_of,
    warmth,
)
from loamery.reference import coefficient, sources, table
from loamery.uncertain import from_range

KINDS = [row["slug"] for row in table("materials")]
SEASON = np.array([4, 7, 10, 13, 16, 19, 21, 21, 19, 15, 10, 5], dtype=float)


@pytest.mark.parametrize(
    ("temp_c", "factor"),
    # Q10 form with Q10 2 and reference 25 C, values as tabulated in the collected figures (soil.md 1.4)
    [(5, 0.250), (10, 0.354), (15, 0.500), (20, 0.707), (25, 1.0), (30, 1.414), (35, 2.000)],
)
def test_warmth_by_the_table(temp_c: float, factor: float) -> None:
    assert float(warmth(temp_c)) == pytest.approx(factor, abs=5e-4)


def test_frozen_soil_stands_still() -> None:
    assert warmth([-20.0, -0.1, 0.0]) == pytest.approx([0.0, 0.0, 0.0])


@pytest.mark.parametrize("kind", KINDS)
def test_decay_of_every_material_can_be_drawn(kind: str) -> None:
    decay = decay_of(kind)
    assert 0 < decay.decomposed_low <= decay.decomposed_frac <= decay.decomposed_high
    assert decay.decomposed_frac <= 1
    assert decay.rate_per_day > 0
    assert decay.lag_days >= 0
    assert 0 < decay.p_share <= 1
    assert 0 < decay.k_share <= 1
    assert set(decay.sources) <= set(sources())
    from_range("lognormal", decay.decomposed_low, decay.decomposed_high, decay.decomposed_frac)


def test_contact_slows_what_lies_on_top() -> None:
    """Parker 1962: 50 against 65 % lost in 20 weeks, so the rate on the surface is about half to two thirds."""
    buried = Decay(1.0, 1.0, 1.0, 0.0525 / 7, 0.0, 0.6, 0.9, ())
    lost = 1.0 - mulch_left(buried, np.full(20, 25.0))[0, -1]
    assert 0.38 <= lost <= 0.52 < 1.0 - np.exp(-20 * 0.0525)


def test_first_order_by_hand() -> None:
    decay = Decay(0.8, 0.8, 0.8, 0.02, 10.0, 0.6, 0.9, ())
    left, contact = mulch_left(decay, [25.0, 15.0, -5.0]), coefficient("surface_contact_factor").value
    assert left[0, 0] == pytest.approx(1.0)
    assert left[0, 1] == pytest.approx(1.0 - 0.8 * (1.0 - np.exp(-0.02 * contact * (7 + 3.5 - 10))), rel=1e-12)
    assert left[0, 2] == pytest.approx(left[0, 1])
    assert left[1, 0] == 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_mulch_only_thins(kind: str) -> None:
    left = mulch_left(decay_of(kind), SEASON)
    lying = np.triu(np.ones_like(left, dtype=bool))
    assert np.all(left[~lying] == 0)
    assert np.all((left[lying] > 0) & (left[lying] <= 1))
    assert all(np.all(np.diff(left[week, week:]) <= 0) for week in range(SEASON.size))


def test_salts_of_an_extract() -> None:
    # 640 mg/L of salts for each dS/m (US Salinity Laboratory, Handbook 60; recalled): 1:5 extract of 1 dS/m holds 3.2 g/kg
    assert float(salts_of(0.1)) == pytest.approx(0.0032, rel=1e-9)
    assert salts_of(np.array([0.0, 0.2])) == pytest.approx([0.0, 0.0064])


def test_salt_in_the_soil_by_hand() -> None:
    # 15 cm at 1200 kg/m3 is 180 kg/m2, 81 L/m2 at saturation 0.45; 51.84 g in it are 0.64 g/L, which is 1 dS/m
    assert float(salt_rise(0.05184, 0.15, 1200.0)) == pytest.approx(0.1, rel=1e-9)
