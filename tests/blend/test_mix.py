"""The rules of mixing: totals are conserved, ratios are never averaged, closed forms agree with the definitions."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loamery.blend import mix
from loamery.blend.ingredient import matter
from loamery.blend.ratios import ratios

NUMBERS = st.floats(0.01, 0.99)
MATERIAL = st.tuples(
    st.floats(0.1, 500),
    NUMBERS,
    st.floats(0.2, 0.55),
    st.floats(0.001, 0.1),
    st.floats(0.005, 0.6),
    st.floats(20, 1100),
)
MATERIALS = st.lists(MATERIAL, min_size=2, max_size=7)


def columns(materials):
    return [np.array(column) for column in zip(*materials, strict=True)]


def test_free_air_space_has_the_values_of_the_formula():
    # 600 kg/m3, 60 % water, 10 % ash: 1 - 600 (0.6/1000 + 0.4 (0.9/1550 + 0.1/2500)), by hand
    by_hand = 1 - 600 * (0.6 / 1000 + 0.4 * (0.9 / 1550 + 0.1 / 2500))
    assert mix.free_air_space(600, 0.6, 0.9, 0.1) == pytest.approx(by_hand, abs=1e-12)


def test_free_air_space_of_a_blend_is_the_formula_on_its_totals():
    mass, wet, om, ash, rho = (np.array(v) for v in ([10.0, 5.0], [0.62, 0.3], [0.98, 0.9], [0.02, 0.1], [450.0, 80.0]))
    blend = mix.blend_free_air_space(mass, wet, om, ash, rho, added_water_kg=2.0)
    whole = mix.free_air_space(
        mix.blend_bulk_density(mass, rho, 2.0),
        mix.blend_moisture(mass, wet, 2.0),
        mix.blend_concentration(mass, wet, om),
        mix.blend_concentration(mass, wet, ash),
    )
    assert blend == pytest.approx(whole, abs=1e-12)


def test_averaging_ratios_is_wrong_and_not_done():
    c_dm, n_dm = np.array([0.40, 0.48]), np.array([0.02, 0.006])  # 20:1 and 80:1
    blend = mix.blend_cn([4, 1], [0, 0], c_dm, n_dm)
    assert blend == pytest.approx((4 * 0.40 + 0.48) / (4 * 0.02 + 0.006), rel=1e-12)
    assert abs(blend - np.average([20, 80], weights=[4, 1])) > 5


@given(MATERIALS, st.floats(0, 200))
def test_totals_conserve_water_carbon_and_nitrogen(materials, water):
    mass, wet, c_dm, n_dm, _, _ = columns(materials)
    dry = mass.sum() + water - mix.blend_moisture(mass, wet, water) * (mass.sum() + water)
    assert dry == pytest.approx(float((mass * (1 - wet)).sum()), rel=1e-9)
    carbon = dry * mix.blend_concentration(mass, wet, c_dm)
    nitrogen = dry * mix.blend_concentration(mass, wet, n_dm)
    assert carbon == pytest.approx(float((mass * (1 - wet) * c_dm).sum()), rel=1e-9)
    assert carbon / nitrogen == pytest.approx(float(mix.blend_cn(mass, wet, c_dm, n_dm)), rel=1e-9)


@given(MATERIALS, st.floats(0.001, 1000))
def test_scale_does_not_change_what_a_blend_is_like(materials, factor):
    mass, wet, c_dm, n_dm, ash, rho = columns(materials)
    for one in (
        lambda m, w: mix.blend_cn(m, wet, c_dm, n_dm),
        lambda m, w: mix.blend_moisture(m, wet, w),
        lambda m, w: mix.blend_free_air_space(m, wet, 1 - ash, ash, rho, w),
        lambda m, w: mix.blend_bulk_density(m, rho, w),
    ):
        assert one(mass * factor, 3 * factor) == pytest.approx(float(one(mass, 3)), rel=1e-9, abs=1e-12)


@given(MATERIALS, st.randoms())
def test_order_does_not_matter(materials, random):
    shuffled = list(materials)
    random.shuffle(shuffled)
    first, second = columns(materials), columns(shuffled)
    assert mix.blend_cn(*first[:4]) == pytest.approx(float(mix.blend_cn(*second[:4])), rel=1e-9)


@given(MATERIALS)
def test_a_blend_of_blends_is_the_blend(materials):
    mass, wet, c_dm, n_dm, _, _ = columns(materials)
    halves = [slice(0, 1), slice(1, None)]
    parts = [(mass[h], wet[h], c_dm[h], n_dm[h]) for h in halves]
    two = [np.array([p[0].sum() for p in parts]), np.array([mix.blend_moisture(p[0], p[1]) for p in parts])]
    two += [np.array([mix.blend_concentration(p[0], p[1], p[i]) for p in parts]) for i in (2, 3)]
    assert mix.blend_cn(*two) == pytest.approx(float(mix.blend_cn(mass, wet, c_dm, n_dm)), rel=1e-9)


@given(MATERIALS, st.floats(0, 50))
def test_blend_cn_lies_between_its_materials(materials, water):
    mass, wet, c_dm, n_dm, _, _ = columns(materials)
    own = c_dm / n_dm
    assert own.min() * (1 - 1e-9) <= mix.blend_cn(mass, wet, c_dm, n_dm) <= own.max() * (1 + 1e-9)


def test_closed_forms_reach_their_goals():
    q2 = mix.second_mass_for_cn_kg(10, (0.77, 0.35), (0.45, 0.50), (0.024, 0.0075), 30)
    assert mix.blend_cn([10, float(q2)], [0.77, 0.35], [0.45, 0.50], [0.024, 0.0075]) == pytest.approx(30, rel=1e-12)
    q2 = mix.second_mass_for_moisture_kg(10, 0.77, 0.35, 0.6)
    assert mix.blend_moisture([10, float(q2)], [0.77, 0.35]) == pytest.approx(0.6, rel=1e-12)
    water = mix.water_for_moisture_kg([10, 10], [0.62, 0.2], 0.58)
    assert mix.blend_moisture([10, 10], [0.62, 0.2], water) == pytest.approx(0.58, rel=1e-12)


def test_closed_forms_broadcast_over_draws():
    goals = np.array([0.5, 0.55, 0.6])
    masses = mix.second_mass_for_moisture_kg(10, 0.77, 0.35, goals)
    assert masses.shape == (3,) and np.all(np.diff(masses) < 0)


def test_a_goal_out_of_reach_gives_no_positive_mass():
    # a drier goal than the drier material
    assert mix.second_mass_for_moisture_kg(10, 0.77, 0.35, 0.3) < 0
    assert not np.isfinite(mix.second_mass_for_moisture_kg(10, 0.77, 0.35, 0.35))


def test_densest_volume_lies_between_the_skeleton_and_the_sum():
    mass, wet, ash, rho, fines = (
        np.array(v) for v in ([10.0, 10.0], [0.6, 0.4], [0.02, 0.02], [450.0, 280.0], [0.95, 0.1])
    )
    least = mix.densest_volume_m3(mass, wet, 1 - ash, ash, rho, fines)
    condensed = mix.total(mass, mix.condensed_m3_per_kg(wet, 1 - ash, ash))
    assert condensed < least < mix.blend_volume_m3(mass, rho)


def test_two_ways_of_mixing_ph_bracket_nothing_but_their_materials():
    by_mass, by_protons = (float(one([1, 1], [0.5, 0.5], [5.4, 8.0])) for one in (mix.ph_by_mass, mix.ph_by_protons))
    assert 5.4 < by_protons < by_mass < 8.0


def test_ratios_are_the_functions_of_mix(make):
    both = matter([make("coffee"), make("leaves"), make("grass")])
    mass, water, made = np.array([10.0, 4.0, 7.0]), 1.5, ratios(both)
    wanted = {
        "cn": mix.blend_cn(mass, both.moisture, both.c_dm, both.n_dm),
        "moisture": mix.blend_moisture(mass, both.moisture, water),
        "bulk_density": mix.blend_bulk_density(mass, both.bulk_density, water),
        "fines": mix.blend_concentration(mass, both.moisture, both.fines),
        "nitrogen": mix.blend_concentration(mass, both.moisture, both.n_dm),
        "free_air_space": mix.blend_free_air_space(
            mass, both.moisture, both.om_dm, both.ash_dm, both.bulk_density, water
        ),
    }
    for key, values in wanted.items():
        assert made[key].value(mass, water) == pytest.approx(values, rel=1e-12), key
        margin, per_water = made[key].margin(float(values[0]))
        assert float(margin[:, 0] @ mass + per_water * water) == pytest.approx(0, abs=1e-10), key
