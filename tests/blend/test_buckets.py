"""Whole vessels: integers in volumes, an honest weight, a total met to half a vessel."""

from itertools import product

import numpy as np
import pytest

from loamery.blend import Bounds, Ingredient, Range, solve_blend
from loamery.blend.ingredient import matter
from loamery.blend.ratios import ratios
from loamery.errors import NoPlan

SIX = ("coffee", "leaves", "chips", "grass", "straw", "manure")


def test_buckets_are_whole_and_weigh_what_their_volume_weighs(make):
    six = [make(name, n=1, stock_kg=200) for name in SIX]
    result = solve_blend(six, total_l=1000, buckets=True, bucket_l=20)
    for portion, one in zip(result.portions, six, strict=True):
        assert portion.buckets == round(portion.buckets)
        assert portion.kg == pytest.approx(portion.buckets * 0.020 * one.median("bulk_density"), rel=1e-9, abs=1e-9)
        assert portion.litres == pytest.approx(portion.buckets * 20, rel=1e-9, abs=1e-9)
        assert portion.kg <= 200 * (1 + 1e-9)
    assert abs(result.total_l - 1000) <= 10 + 1e-9


def test_every_material_in_its_own_vessel(make):
    pair = [make("coffee", n=1, vessel_l=10), make("leaves", n=1, vessel_l=60)]
    result = solve_blend(pair, total_l=600, buckets=True)
    assert [one.vessel_l for one in result.portions] == [10, 60]
    for one in result.portions:
        assert one.litres == pytest.approx(one.buckets * one.vessel_l, rel=1e-9) and one.buckets % 1 == 0


def test_whole_buckets_are_the_best_of_all_whole_buckets(make):
    trio = [make(name, n=1) for name in ("coffee", "leaves", "grass")]
    bounds = Bounds(cn=Range(24, 31), moisture=Range(0.45, 0.60))
    result = solve_blend(trio, bounds, total_l=400, buckets=True, objective="use_most:coffee", water=False)
    kg = 0.020 * np.array([one.median("bulk_density") for one in trio])
    made, best = ratios(matter(trio)), -1
    for count in product(range(22), repeat=3):
        mass = kg * np.array(count)
        if abs(20 * sum(count) - 400) > 10 or not mass.any():
            continue
        if 24 <= made["cn"].value(mass)[0] <= 31 and 0.45 <= made["moisture"].value(mass)[0] <= 0.60:
            best = max(best, count[0])
    assert result.portions[0].buckets == best


@pytest.mark.parametrize("seed", [21, 22, 23])
@pytest.mark.parametrize("objective", ["closest", "use_most:coffee", "least_labour"])
def test_robust_buckets_keep_their_bounds_when_their_weight_is_uncertain(make, objective, seed):
    six = [make(name, stock_kg=200, minutes_per_kg=1.0 + i) for i, name in enumerate(SIX)]
    result = solve_blend(six, total_l=800, buckets=True, objective=objective)
    assert not result.flagged
    fresh = matter([make(name, seed=seed, n=4000) for name in SIX])
    litres = np.array([one.litres for one in result.portions])
    mass = litres[:, None] / 1000 * fresh.bulk_density  # a bucket weighs what that draw's bulk density says
    made, kept = ratios(fresh), np.ones(fresh.draws, dtype=bool)
    for key, one in Bounds.reasonable().ranges().items():
        values = made[key].value(mass, result.water_kg)
        kept &= (values >= (one.low or -np.inf)) & (values <= (one.high or np.inf))
    assert kept.mean() >= 0.9


def test_kilograms_fit_but_no_whole_bucket_does(make):
    pair = [make("coffee", n=1), make("leaves", n=1)]
    narrow = Bounds(cn=Range(29.9, 30.0))
    assert solve_blend(pair, narrow, total_l=45).kg["coffee"] > 0
    with pytest.raises(NoPlan, match="none in whole vessels") as caught:
        solve_blend(pair, narrow, total_l=45, buckets=True)
    assert caught.value.conflict == ("whole vessels",) and "smaller vessel" in str(caught.value)


def test_one_bucket_is_a_blend():
    one = Ingredient("grounds", 0.6, 0.48, 0.02, ash_dm=0.02, bulk_density=450)
    result = solve_blend([one], Bounds(cn=Range(20, 30)), total_l=20, buckets=True)
    assert result.portions[0].buckets == 1 and result.kg["grounds"] == pytest.approx(9.0, rel=1e-9)


def test_reported_coverage_counts_the_uncertain_weight_of_a_bucket(make):
    pair, bounds = [make("coffee"), make("leaves")], Bounds(bulk_density=Range(150, 200))
    result = solve_blend(pair, bounds, total_l=800, buckets=True, robust=False, objective="use_most:coffee")
    fresh = matter([make(name, seed=31, n=4000) for name in ("coffee", "leaves")])
    litres = np.array([one.litres for one in result.portions])
    by_volume, by_weight = litres[:, None] / 1000 * fresh.bulk_density, np.array(list(result.kg.values()))

    def kept(mass):
        values = ratios(fresh)["bulk_density"].value(mass, result.water_kg)
        return np.mean((values >= 150) & (values <= 200))

    assert result.coverage == pytest.approx(kept(by_volume), abs=0.04)
    assert kept(by_volume) > kept(by_weight) + 0.06  # weighing would be another, here a less even, blend
