"""The solver: agrees with closed forms, is best, keeps its bounds in fresh draws, and refuses what cannot be."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loamery.blend import Bounds, Ingredient, Range, mix, solve_blend
from loamery.blend.ingredient import matter
from loamery.blend.ratios import ratios
from loamery.errors import InputError, LoameryError, NoPlan, UnknownName
from loamery.finding import Ledger
from loamery.lab.composition import Composition, Estimate
from loamery.uncertain import Uncertain

GRASS = Ingredient("grass", 0.77, 0.45, 0.024, stock_kg=10, least_kg=10)
LEAVES = Ingredient("leaves", 0.35, 0.50, 0.0075)
SIX = ("coffee", "leaves", "chips", "grass", "straw", "manure")


def coverage(result, ingredients, bounds):
    """Return the share of draws in which every range holds, computed here and not by the package's own account."""
    both, mass = matter(ingredients), np.array([result.kg[one.name] for one in ingredients])
    made, kept = ratios(both), np.ones(matter(ingredients).draws, dtype=bool)
    for key, one in bounds.ranges().items():
        values = made[key].value(mass, result.water_kg)
        kept &= values >= (one.low if one.low is not None else -np.inf) - 1e-9
        kept &= values <= (one.high if one.high is not None else np.inf) + 1e-9
    return kept.mean()


# --- agreement with closed forms ---------------------------------------------------------------------------------


@pytest.mark.parametrize("goal", [22.0, 25.0, 30.0, 45.0, 60.0])
def test_two_materials_for_a_cn_agree_with_the_closed_form(goal):
    blend = solve_blend([GRASS, LEAVES], Bounds(cn=Range(goal, goal)), water=False)
    closed = mix.second_mass_for_cn_kg(10, (0.77, 0.35), (0.45, 0.50), (0.024, 0.0075), goal)
    assert blend.kg["leaves"] == pytest.approx(float(closed), rel=1e-9)


@pytest.mark.parametrize("goal", [0.40, 0.55, 0.60, 0.70])
def test_two_materials_for_a_moisture_agree_with_the_closed_form(goal):
    blend = solve_blend([GRASS, LEAVES], Bounds(moisture=Range(goal, goal)), water=False)
    closed = mix.second_mass_for_moisture_kg(10, 0.77, 0.35, goal)
    assert blend.kg["leaves"] == pytest.approx(float(closed), rel=1e-9)


def test_water_agrees_with_the_closed_form():
    straw = Ingredient("straw", 0.12, 0.47, 0.006, stock_kg=50, least_kg=50)
    blend = solve_blend([straw], Bounds(moisture=Range(0.6, 0.6)))
    assert blend.water_kg == pytest.approx(float(mix.water_for_moisture_kg([50], [0.12], 0.6)), rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(*[st.floats(0.05, 0.9)] * 2), st.tuples(*[st.floats(0.3, 0.55)] * 2), st.floats(0.02, 0.06),
    st.floats(0.001, 0.01), st.floats(0.05, 0.95), st.floats(0.5, 900),
)  # fmt: skip
def test_two_materials_agree_for_any_figures(wet, carbon, n_green, n_brown, between, first):
    low, high = carbon[0] / n_green, carbon[1] / n_brown
    goal = low + between * (high - low)
    green = Ingredient("green", wet[0], carbon[0], n_green, stock_kg=first, least_kg=first)
    brown = Ingredient("brown", wet[1], carbon[1], n_brown)
    closed = float(mix.second_mass_for_cn_kg(first, wet, carbon, (n_green, n_brown), goal))
    blend = solve_blend([green, brown], Bounds(cn=Range(goal, goal)), water=False)
    assert blend.kg["brown"] == pytest.approx(closed, rel=1e-9)


def test_free_air_space_and_bulk_density_agree_with_the_closed_form():
    dense = Ingredient("dense", 0.70, 0.45, 0.02, ash_dm=0.1, bulk_density=850, stock_kg=100, least_kg=100)
    light = Ingredient("light", 0.15, 0.47, 0.006, ash_dm=0.05, bulk_density=90)
    blend = solve_blend([dense, light], Bounds(free_air_space=Range(0.35, 0.35)), water=False)
    parts = ratios(matter([dense, light]))["free_air_space"]
    closed = mix.second_mass_kg(100, parts.top[0], parts.bottom[0], parts.top[1], parts.bottom[1], 0.35)
    assert blend.kg["light"] == pytest.approx(float(closed[0]), rel=1e-9)
    blend = solve_blend([dense, light], Bounds(bulk_density=Range(500, 500)), water=False)
    # by hand: (100 + x)/(100/850 + x/90) = 500
    assert blend.kg["light"] == pytest.approx(100 * (500 / 850 - 1) / (1 - 500 / 90), rel=1e-9)


def test_three_unknowns_reach_both_goals_with_water():
    # our own vector: 10 kg grounds, leaves and water to 58 % and 30:1 (solved by hand as two equations)
    grounds = Ingredient("grounds", 0.62, 0.50, 0.023, stock_kg=10, least_kg=10)
    leaves = Ingredient("leaves", 0.20, 0.48, 0.008)
    blend = solve_blend([grounds, leaves], Bounds(cn=Range(30, 30), moisture=Range(0.58, 0.58)))
    assert blend.kg["leaves"] == pytest.approx(3.760417, abs=5e-7)
    assert blend.water_kg == pytest.approx(2.449901, abs=5e-7)


# --- it is the best --------------------------------------------------------------------------------------------


def test_the_best_is_as_good_as_the_best_of_a_fine_grid(make):
    pair = [make("coffee", n=1, stock_kg=300), make("leaves", n=1, stock_kg=300)]
    bounds = Bounds(cn=Range(25, 32), moisture=Range(0.5, 0.6))
    found = solve_blend(pair, bounds, total_kg=100, objective="use_most:coffee").kg["coffee"]
    made = ratios(matter(pair))
    best = max(
        coffee
        for coffee in np.arange(0, 100.05, 0.1)
        for leaves in np.arange(0, 100.05 - coffee, 0.1)
        if 25 <= made["cn"].value([coffee, leaves])[0] <= 32
        and 0.5 <= made["moisture"].value([coffee, leaves], 100 - coffee - leaves)[0] <= 0.6
    )
    assert best <= found + 1e-9 and found - best < 0.3


@pytest.mark.parametrize("objective", ["use_most:coffee", "least_labour", "least_bought", "closest", "most_mass"])
def test_every_objective_keeps_every_bound(make, objective):
    six = [
        make(name, n=1, stock_kg=120, cost_per_kg=float(name == "straw"), minutes_per_kg=1.0 + i)
        for i, name in enumerate(SIX)
    ]
    size = {} if objective in ("most_mass", "use_most:coffee") else {"total_kg": 250.0}
    result = solve_blend(six, objective=objective, **size)
    assert coverage(result, six, Bounds.reasonable()) == 1
    assert all(0 <= kg <= 120 * (1 + 1e-9) for kg in result.kg.values())
    if size:
        assert sum(result.kg.values()) + result.water_kg == pytest.approx(250, rel=1e-9)


def test_objectives_pull_in_their_own_direction(make):
    six = [
        make(name, n=1, stock_kg=120, cost_per_kg=float(name == "straw"), minutes_per_kg=1.0 + i)
        for i, name in enumerate(SIX)
    ]
    results = {
        o: solve_blend(six, objective=o, total_kg=250)
        for o in ("use_most:chips", "least_bought", "least_labour", "closest")
    }
    minutes = {o: sum((1 + i) * r.kg[n] for i, n in enumerate(SIX)) for o, r in results.items()}
    assert min(minutes, key=minutes.get) == "least_labour"
    assert max(results, key=lambda o: results[o].kg["chips"]) == "use_most:chips"
    assert results["least_bought"].kg["straw"] == pytest.approx(0, abs=1e-9)
    assert results["least_bought"].objective_value == pytest.approx(0, abs=1e-9)
    assert results["closest"].values["cn"].median == pytest.approx(27.5, abs=0.05)


@pytest.mark.parametrize("factor", [1e-3, 7.0, 1e4])
def test_scale_does_not_change_the_recipe(make, factor):
    def recipe(size):
        six = [make(name, n=1, stock_kg=100 * size) for name in SIX]
        return solve_blend(six, total_kg=200 * size, objective="use_most:coffee").kg

    small = recipe(1.0)
    assert recipe(factor) == pytest.approx(
        {name: kg * factor for name, kg in small.items()}, rel=1e-6, abs=1e-6 * factor
    )


def test_order_of_ingredients_does_not_change_the_recipe(make):
    six = [make(name, n=1, stock_kg=100) for name in SIX]
    first = solve_blend(six, total_kg=200).kg
    assert solve_blend(six[::-1], total_kg=200).kg == pytest.approx(first, rel=1e-6, abs=1e-6)


def test_litres_are_met(make):
    result = solve_blend([make("coffee", n=1), make("straw", n=1)], total_l=1000)
    assert result.total_l == pytest.approx(1000, rel=1e-9)
    assert sum(one.litres for one in result.portions) == pytest.approx(1000, rel=1e-9)


def test_shares_are_bounds_too(make):
    bounds = replace(Bounds.reasonable(), volume_shares={"coffee": (None, 0.2)}, shares={"grass": (0.1, None)})
    result = solve_blend([make(n, n=1) for n in SIX], bounds, total_kg=300, objective="use_most:coffee")
    litres = {one.name: one.litres for one in result.portions}
    assert litres["coffee"] / sum(litres.values()) == pytest.approx(0.2, rel=1e-9)
    assert result.kg["grass"] >= 0.1 * sum(result.kg.values()) * (1 - 1e-9)
    assert "share of coffee by volume at most 20 %" in result.binding


def test_packing_makes_the_blend_denser(make):
    loose, packed = (solve_blend([make(n, n=1) for n in SIX], total_kg=300, packing=p) for p in (1.0, 0.7))
    assert packed.values["free_air_space"].median < loose.values["free_air_space"].median


# --- robust ----------------------------------------------------------------------------------------------------

CASES = {
    "six, closest": (SIX, {"total_kg": 300}, Bounds.reasonable()),
    "six, most coffee": (SIX, {"objective": "use_most:coffee", "total_kg": 300}, Bounds.reasonable()),
    "six, most mass": (SIX, {"objective": "most_mass"}, Bounds.reasonable()),
    "six, least labour": (SIX, {"objective": "least_labour", "total_kg": 300}, Bounds.reasonable()),
    "coffee and leaves": (("coffee", "leaves"), {"objective": "use_most:coffee", "total_kg": 100}, Bounds.reasonable()),
    "grass and straw": (("grass", "straw"), {"objective": "use_most:grass", "total_kg": 100}, Bounds.reasonable()),
    "tighter C:N": (SIX, {"objective": "use_most:manure", "total_kg": 200}, replace(Bounds.reasonable(), cn=Range(22, 36))),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("seed", [11, 12, 13])
def test_robust_blends_keep_their_bounds_in_fresh_draws_of_another_seed(make, case, seed):
    names, question, bounds = CASES[case]
    labour = {"minutes_per_kg": 1.0}
    result = solve_blend([make(n, seed=1, stock_kg=150, **labour) for n in names], bounds, **question)
    assert not result.flagged
    assert coverage(result, [make(n, seed=seed, n=4000) for n in names], bounds) >= 0.9


def test_the_blend_for_the_medians_alone_would_not_have_kept_them(make):
    labour = [make(n, minutes_per_kg=1.0 + i) for i, n in enumerate(SIX)]
    fresh = [make(n, seed=11, n=4000) for n in SIX]
    question = {"objective": "least_labour", "total_kg": 300}
    plain, sure = (solve_blend(labour, robust=r, **question) for r in (False, True))
    assert coverage(plain, fresh, Bounds.reasonable()) < 0.7 < 0.9 <= coverage(sure, fresh, Bounds.reasonable())
    assert plain.objective_value < sure.objective_value  # being sure costs labour
    assert plain.asked is None and sure.asked == 0.9


def test_reported_coverage_is_what_fresh_draws_show(make):
    question = {"objective": "use_most:coffee", "total_kg": 300}
    result = solve_blend([make(n, stock_kg=400) for n in SIX], **question)
    fresh = coverage(result, [make(n, seed=5, n=4000) for n in SIX], Bounds.reasonable())
    assert result.coverage == pytest.approx(fresh, abs=0.04)


def test_bounds_too_narrow_to_be_sure_of_are_flagged(make):
    narrow = replace(Bounds.reasonable(), cn=Range(26, 32), moisture=Range(0.5, 0.58))
    six = [make(n, stock_kg=200) for n in SIX]
    result = solve_blend(six, narrow, total_kg=300)
    assert result.flagged and result.coverage < 0.9
    assert result.most_reliable_coverage > result.coverage
    assert result.most_reliable is not None and set(result.most_reliable) == {*SIX, "added water"}
    assert next(one.code for one in result.findings) == "bounds_not_sure"
    # the blend shown is the one for the medians
    assert result.kg == pytest.approx(solve_blend(six, narrow, total_kg=300, robust=False).kg, abs=1e-6)


def test_same_seed_same_blend(make):
    six = [make(n, stock_kg=200) for n in SIX]
    first, again = (solve_blend(six, total_kg=300, objective="use_most:coffee", seed=3).as_dict() for _ in range(2))
    assert first == again


# --- the account -----------------------------------------------------------------------------------------------


def test_nearness_is_measured_in_shares_of_the_range():
    result = solve_blend([GRASS, LEAVES], Bounds(cn=Range(20, 30)), objective="use_most:leaves", water=False)
    near = {one.name: one for one in result.limits}
    assert near["C:N at most 30"].near == pytest.approx(0, abs=1e-9) and near["C:N at most 30"].binds
    assert near["C:N at least 20"].near == pytest.approx(1, abs=1e-9) and not near["C:N at least 20"].binds
    assert result.kg["leaves"] == pytest.approx(3.474, abs=5e-4)


def test_every_figure_has_a_trace_and_the_answer_is_json(make):
    result = solve_blend([make(n, stock_kg=200) for n in SIX], total_kg=300)
    assert isinstance(result.traces, Ledger)
    for key in result.values:
        assert f"blend/{key}" in result.traces
    for name in SIX:
        assert f"blend/amount/{name}" in result.traces
    document = json.loads(json.dumps(result.as_dict()))
    assert document["portions"][0].keys() == {"name", "kg", "litres", "buckets", "vessel_l"}
    assert document["coverage"] > 0.9


def test_what_is_not_known_is_said(make):
    plain = Ingredient("hay", 0.15, 0.46, 0.02)
    result = solve_blend([make("coffee", n=1), plain], total_kg=100, robust=False)
    texts = [one.text for one in result.findings if one.code == "not_checked"]
    assert any("free air space was not checked: not known for hay" in text for text in texts)
    assert result.total_l is None and result.portions[1].litres is None


def test_salt_and_ph_are_advice_only(make):
    salty = Ingredient("salty", 0.6, 0.45, 0.017, ph=9.5, ec=1.2, ash_dm=0.2, bulk_density=500, fines=0.3)
    codes = [one.code for one in solve_blend([salty], Bounds(cn=Range(20, 40)), total_kg=10).findings]
    assert "salt_advice" in codes and "ph_advice" in codes


def estimate(key, value, basis="dry"):
    return Estimate(key, key, basis, Uncertain("normal", value, 0.0), np.full(8, value), "measured")


def test_ingredient_from_a_composition():
    estimates = {
        "moisture": estimate("moisture", 0.6, "as_received"), "N": estimate("N", 0.02), "ash": estimate("ash", 0.1),
        "bulk_density": estimate("bulk_density", 450.0, "as_received"),
    }  # fmt: skip
    one = Ingredient.from_composition(Composition("grounds", "coffee-spent", estimates), stock_kg=40)
    assert one.name == "grounds" and one.stock_kg == 40 and one.draws == 8
    assert one.median("c_dm") == pytest.approx(0.9 * 0.54, rel=1e-9)  # carbon from organic matter
    assert one.median("om_dm") == pytest.approx(0.9, rel=1e-12)
    assert 0.85 <= one.median("fines") <= 1  # from the reference data of the kind
    with pytest.raises(InputError, match="no nitrogen"):
        Ingredient.from_composition(Composition("x", "x", {k: v for k, v in estimates.items() if k != "N"}))
    with pytest.raises(InputError, match="no carbon, organic matter or ash"):
        Ingredient.from_composition(Composition("x", "x", {k: v for k, v in estimates.items() if k != "ash"}))


# --- bad input -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("figures", "text"),
    [
        ({"moisture": 1.0}, "moisture 1.0"), ({"moisture": -0.1}, "moisture -0.1"), ({"moisture": 62}, "moisture 62"),
        ({"moisture": float("nan")}, "moisture nan"), ({"n_dm": -0.01}, "nitrogen -0.01"), ({"c_dm": 45}, "carbon 45"),
        ({"bulk_density": 0}, "bulk density 0"), ({"stock_kg": -5}, "stock_kg is -5"),
        ({"least_kg": 9, "stock_kg": 3}, "at least 9 kg wanted, 3 kg in stock"), ({"vessel_l": 0}, "a vessel of 0 litres"),
        ({"cost_per_kg": float("nan")}, "cost_per_kg is nan"), ({"ph": 17}, "pH 17"), ({"name": " "}, "without a name"),
        ({"moisture": [[0.5]]}, "an array of shape"),
    ],
)  # fmt: skip
def test_impossible_figures_are_refused_where_they_stand(figures, text):
    with pytest.raises(InputError) as caught:
        Ingredient(**{"name": "x", "moisture": 0.5, "c_dm": 0.45, "n_dm": 0.02, **figures})
    assert text in str(caught.value) and "what to do" in str(caught.value)


@pytest.mark.parametrize(
    ("question", "text"),
    [
        ({"ingredients": []}, "no ingredients"),
        ({"ingredients": [LEAVES, LEAVES]}, "“leaves” is listed 2 times"),
        ({"ingredients": [replace(LEAVES, stock_kg=0)]}, "a stock of zero"),
        ({"ingredients": [replace(LEAVES, n_dm=0.0)]}, "no ingredient holds any nitrogen"),
        ({"total_kg": -3}, "total in kg of -3"), ({"total_kg": 0}, "total in kg of 0"),
        ({"total_kg": float("nan")}, "total in kg of nan"), ({"total_kg": 1, "total_l": 1}, "one of the two"),
        ({"bucket_l": 0}, "bucket in litres of 0"), ({"packing": 0}, "packing of 0"), ({"n_scenarios": 0}, "0 scenarios"),
        ({"objective": "best"}, "objective “best”"), ({"objective": "use_most:gold"}, "objective “use_most:gold”"),
        ({"total_kg": None}, "nothing that says how much to make"),
        ({"total_kg": None, "objective": "most_mass", "bounds": Bounds()}, "nothing that says how much to make"),
        ({"total_kg": None, "total_l": 10}, "no bulk density of leaves"), ({"buckets": True}, "no bulk density of leaves"),
        ({"bounds": Bounds(shares={"gold": (0, 1)})}, "a share of “gold”"),
        ({"bounds": Bounds(shares={"leaves": (0.9, 0.1)})}, "a share of leaves from 0.9 to 0.1"),
        ({"ingredients": [LEAVES, Ingredient("a", [0.5, 0.6], 0.4, 0.02), Ingredient("b", [0.5] * 3, 0.4, 0.02)]}, "draws"),
    ],
)  # fmt: skip
def test_questions_that_cannot_be_asked_are_refused(question, text):
    asked = {"ingredients": [LEAVES], "total_kg": 100.0, **question}
    with pytest.raises(LoameryError) as caught:
        solve_blend(asked.pop("ingredients"), asked.pop("bounds", None), **asked)
    assert text in str(caught.value) and not isinstance(caught.value, NoPlan)


def test_contradictory_bounds_are_refused():
    with pytest.raises(InputError, match="the low end is above the high one"):
        Range(40, 20)
    with pytest.raises(InputError, match="numbers"):
        Range(float("nan"), 20)


def test_unknown_names_are_also_key_errors():
    with pytest.raises(UnknownName):
        solve_blend([LEAVES], objective="nonsense", total_kg=1)
