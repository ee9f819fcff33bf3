"""The bed through a season: every account closes, beds and draws do not mix, bad input is refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loamery.bed.crop import bare
from loamery.bed.day import Switches
from loamery.bed.mineral import nitrogen_kg_mol
from loamery.bed.place import Place, places_of
from loamery.bed.record import BedRun
from loamery.bed.simulate import Portion, simulate_bed
from loamery.errors import InputError
from tests.bed.beds import WEEKS, dose, matter, numbers, portion, soil, tomatoes, weather

KINDS = (
    "coffee-spent",
    "chips-arborist",
    "straw-wheat",
    "grass-clippings",
    "litter-broiler",
    "compost-finished",
    "wood-ash",
)


def relative(gap: np.ndarray, size: np.ndarray) -> float:
    return float(np.abs(gap).max() / max(float(np.max(size)), 1e-12))


def accounts(run: BedRun) -> dict[str, float]:
    nitrogen = run.stock["soil_n"][0] + run.flow["organic_n_in"].sum(axis=0) + run.flow["mineral_n_in"].sum(axis=0)
    carbon = run.stock["soil_carbon"][0] + run.flow["carbon_in"].sum(axis=0)
    return {
        "nitrogen": relative(run.nitrogen_gap(), nitrogen),
        "carbon": relative(run.carbon_gap(), carbon),
        "water": relative(run.water_gap(), run.flow["rain_mm"].sum(axis=0) + run.flow["watered_mm"].sum(axis=0)),
        "salts": relative(run.salt_gap(), run.flow["salts_in"].sum(axis=0) + 1e-6),
    }


@settings(max_examples=12, deadline=None)
@given(
    kinds=st.lists(st.sampled_from(KINDS), min_size=1, max_size=3, unique=True),
    surface=st.booleans(),
    weeks=st.lists(st.integers(0, WEEKS - 1), min_size=1, max_size=3, unique=True),
    kg=st.floats(0.01, 40.0),
    texture=st.sampled_from(["sand", "loam", "clay"]),
)
def test_nitrogen_carbon_water_and_salt_are_conserved(
    kinds: list[str], surface: bool, weeks: list[int], kg: float, texture: str
) -> None:
    portions = [portion(one, surface, 5) for one in kinds]
    doses = dose(*[(week, kg) for week in weeks], portions=len(portions))
    run = simulate_bed(portions, doses, soil(texture), weather(5), tomatoes(), numbers(5))
    assert max(accounts(run).values()) < 1e-9, accounts(run)


def test_protons_are_conserved() -> None:
    """What acid the soil got is what its nitrogen became: nitrate less ammonium, in store and gone, beyond what came."""
    run = simulate_bed(
        [portion("litter-broiler-breeder", True), portion("coffee-spent")], dose((3, 1.0), (9, 2.0), portions=2), soil(), weather(),
        bare(7 * WEEKS), numbers(),
    )  # fmt: skip
    stock, flow = run.stock, run.flow
    nitrate = stock["nitrate"][-1] - stock["nitrate"][0] + flow["leached"].sum(axis=0)
    ammonium = stock["ammonium"][-1] - stock["ammonium"][0] + stock["surface_ammonium"][-1]
    came = flow["alkali_in"].sum(axis=0) * nitrogen_kg_mol()
    acid = stock["acid_mol"][-1] * nitrogen_kg_mol()
    # ammonia that left took its alkalinity with it, which the account books as acid
    assert acid - came == pytest.approx(nitrate - ammonium, abs=1e-12)


def test_beds_and_draws_do_not_mix() -> None:
    places = places_of([soil("sand"), soil("clay", ph=5.0)])
    doses = np.stack([dose((2, 3.0)), dose((5, 8.0))], axis=1)
    both = simulate_bed([portion("coffee-spent", False, 4)], doses, places, weather(4), tomatoes(2), numbers(4))
    for bed, place in enumerate([soil("sand"), soil("clay", ph=5.0)]):
        alone = simulate_bed(
            [portion("coffee-spent", False, 4)], doses[:, bed], place, weather(4), tomatoes(), numbers(4)
        )
        for name, values in both.stock.items():
            assert values[:, bed] == pytest.approx(alone.stock[name][:, 0], abs=1e-15), name
    assert np.unique(both.stock["nitrate"][-1]).size == 8


def test_nothing_given_is_the_bare_soil() -> None:
    none = simulate_bed([], np.zeros((0, WEEKS)), soil(), weather(), tomatoes(), numbers())
    zero = simulate_bed([portion("grass-clippings")], dose(), soil(), weather(), tomatoes(), numbers())
    assert none.stock["nitrate"] == pytest.approx(zero.stock["nitrate"])
    assert max(accounts(none).values()) < 1e-9


def test_without_scarcity_double_the_dose_gives_double_the_net_nitrogen() -> None:
    def net(kg: float) -> np.ndarray:
        free = Switches(scarcity=False)
        run = simulate_bed([portion("straw-wheat")], dose((1, kg)), soil(), weather(), None, numbers(), physics=free)
        return run.net_n

    assert net(4.0) == pytest.approx(4.0 * net(1.0), rel=1e-9)


def test_with_scarcity_decay_slows_and_less_is_tied_up() -> None:
    def run(kg: float) -> BedRun:
        return simulate_bed([portion("sawdust")], dose((1, kg)), soil("sand", 0.5), weather(), None, numbers())

    little, much = run(0.05), run(10.0)
    assert little.net_n.sum() < 0.0
    assert much.net_n.sum() > 100.0 * little.net_n.sum()  # both below zero: two hundred times as much ties up far less
    assert float(much.decayed_share[-1, 0, 0, 0]) < 0.9 * float(little.decayed_share[-1, 0, 0, 0])


def test_a_crop_takes_what_it_needs_where_there_is_plenty() -> None:
    rich = simulate_bed([portion("blood-meal")], dose((5, 0.3)), soil(), weather(), tomatoes(), numbers())
    poor = simulate_bed([], np.zeros((0, WEEKS)), soil("sand", 0.5), weather(), tomatoes(), numbers())
    asked = tomatoes().nitrogen_kg_m2[0, -1]
    assert float(rich.taken.sum()) > 0.9 * asked
    assert float(poor.taken.sum()) < 0.4 * asked
    assert float(rich.taken.sum()) <= asked * (1 + 1e-9)


def test_ammonium_left_on_top_is_lost_to_the_air() -> None:
    top = simulate_bed([portion("litter-broiler-breeder", True)], dose((8, 1.0)), soil(), weather(), None, numbers())
    inside = simulate_bed([portion("litter-broiler-breeder")], dose((8, 1.0)), soil(), weather(), None, numbers())
    assert float(top.flow["volatilised"].sum()) > 0.0
    assert float(inside.flow["volatilised"].sum()) == 0.0


@pytest.mark.parametrize(
    ("doses", "told"),
    [(np.zeros((1, 3)), "shape"), (np.zeros((2, WEEKS)), "shape"), (dose((0, -1.0)), "negative"), (dose((0, np.nan)), "negative or missing")],
)  # fmt: skip
def test_bad_doses_are_refused(doses: np.ndarray, told: str) -> None:
    with pytest.raises(InputError, match=told):
        simulate_bed([portion("coffee-spent")], doses, soil(), weather(), None, numbers())


def test_draws_of_different_number_are_refused() -> None:
    with pytest.raises(InputError, match="different number"):
        simulate_bed([Portion(matter("coffee-spent", 4))], dose(), soil(), weather(3), None, numbers(4))


@pytest.mark.parametrize(
    ("name", "value"), [("ph", 14.0), ("organic_matter_frac", 2.0), ("depth_m", 0.0), ("clay_frac", -0.1)]
)
def test_a_soil_that_cannot_be_is_refused(name: str, value: float) -> None:
    from dataclasses import asdict

    with pytest.raises(InputError, match=name.replace("_", " ")):
        Place(**{**asdict(soil()), name: np.array([[value]])})
