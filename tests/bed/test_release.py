"""What material gives a bed: published balances and tables, and what must hold for every material."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.release import (
    Decay,
    decay_of,
    mulch_left,
    net_nitrogen_share,
    release_progress,
    salt_rise,
    salts_of,
    warmth,
)
from loamery.reference import sources, table
from loamery.uncertain import from_range

KINDS = [row["slug"] for row in table("materials")]
SEASON = np.array([4, 7, 10, 13, 16, 19, 21, 21, 19, 15, 10, 5], dtype=float)
LEAFY = Decay(0.875, 0.62, 1.0, 0.02, 0.0, 0.6, 0.9, ())


@pytest.mark.parametrize(
    ("temp_c", "factor"),
    # Q10 form with Q10 2 and reference 25 C, values as tabulated in the collected figures (soil.md 1.4)
    [(5, 0.250), (10, 0.354), (15, 0.500), (20, 0.707), (25, 1.0), (30, 1.414), (35, 2.000)],
)
def test_warmth_by_the_table(temp_c: float, factor: float) -> None:
    assert float(warmth(temp_c)) == pytest.approx(factor, abs=5e-4)


def test_frozen_soil_stands_still() -> None:
    assert warmth([-20.0, -0.1, 0.0]) == pytest.approx([0.0, 0.0, 0.0])


@pytest.mark.parametrize("n_pct", [1.5, 2.0, 2.5, 3.0, 3.5])
def test_the_balance_is_the_line_of_pnw_636(n_pct: float) -> None:
    """Sullivan & Andrews 2012, PNW 636: 0 at 1.5 % N, 35 lb per short ton dry at 3.5 % N, linear between.

    With 42 % carbon that line is 0.875 (1 - CN/28) of total N.
    """
    share = float(net_nitrogen_share(LEAFY, 42.0 / n_pct, on_surface=False))
    assert share == pytest.approx(0.875 * (1 - 42.0 / n_pct / 28), abs=1e-12)
    pounds_per_ton = share * n_pct / 100 * 2000
    assert pounds_per_ton == pytest.approx(17.5 * (n_pct - 1.5), abs=1e-9)


def test_break_even_is_at_28_dug_in_or_laid_on() -> None:
    for on_surface in (False, True):
        assert float(net_nitrogen_share(LEAFY, 28.0, on_surface=on_surface)) == pytest.approx(0.0, abs=1e-12)
        assert float(net_nitrogen_share(LEAFY, 27.9, on_surface=on_surface)) > 0
        assert float(net_nitrogen_share(LEAFY, 28.1, on_surface=on_surface)) < 0


def test_a_mulch_ties_up_with_its_underside_only() -> None:
    dug, laid = (net_nitrogen_share(LEAFY, [20.0, 100.0], on_surface=one) for one in (False, True))
    assert laid[0] == pytest.approx(dug[0])
    assert dug[1] < laid[1] < 0


def test_tie_up_of_cornstalks_is_of_the_size_that_was_measured() -> None:
    """Parker 1962, SSSAP 26:559: buried cornstalks (C:N 57) tied up at most 2.0 g N per kg.

    At the loss measured after 5 weeks, 32.5 %, and 42 % C the balance gives 2.5 g/kg; same size, not the same figure.
    """
    stalks = Decay(0.325, 0.3, 0.35, 0.01, 0.0, 0.6, 0.9, ())
    grams = -float(net_nitrogen_share(stalks, 57.0, on_surface=False)) * 420.0 / 57.0
    assert 1.4 <= grams <= 2.6


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("on_surface", [False, True])
def test_release_of_every_material(kind: str, on_surface: bool) -> None:
    progress = release_progress(decay_of(kind), SEASON, on_surface=on_surface)
    weeks = SEASON.size
    assert progress.shape == (weeks, weeks)
    assert np.all(progress[np.tri(weeks, k=-1, dtype=bool)] == 0), "nothing is released before it is spread"
    assert np.all((progress >= 0) & (progress <= 1))
    assert np.all(np.diff(np.where(np.tri(weeks, k=-1, dtype=bool), 0, progress), axis=1) >= 0), (
        "release never goes back"
    )
    assert np.all(np.diff(progress[:, -1]) <= 1e-12), "what is spread later has released less"


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
    decay = Decay(1.0, 1.0, 1.0, 0.0525 / 7, 0.0, 0.6, 0.9, ())
    warm = np.full(20, 25.0)
    dug, laid = (release_progress(decay, warm, on_surface=one)[0, -1] for one in (False, True))
    assert dug == pytest.approx(0.65, abs=0.005)
    assert 0.38 <= laid <= 0.52


def test_first_order_by_hand() -> None:
    decay = Decay(1.0, 1.0, 1.0, 0.02, 10.0, 0.6, 0.9, ())
    progress = release_progress(decay, [25.0, 15.0, -5.0], on_surface=False)
    assert progress[0, 0] == pytest.approx(0.0)
    assert progress[0, 1] == pytest.approx(1 - np.exp(-0.02 * (7 + 3.5 - 10)), rel=1e-12)
    assert progress[0, 2] == pytest.approx(progress[0, 1])
    assert progress[1, 1] == 0


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
