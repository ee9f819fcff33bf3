"""What the bed model tells a plan: every draw of a material beside a run of its own."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.bed.kernels import release_kernels
from loamery.bed.matter import matter_of_stuff
from loamery.bed.simulate import Portion
from loamery.season.calendar import calendar_of
from loamery.season.from_bed import SEASONS, Seasons, release_draws, seasons_of
from loamery.season.needs import bed_need
from loamery.season.prepare import prepare
from loamery.season.stuff import Stuff, raw_stuff
from tests.season.gardens import garden, material, planting, supply

KINDS = ("grass-clippings", "straw-wheat", "coffee-spent", "compost-finished", "feather-meal", "wood-ash")
ONE = garden(
    tuple(material(kind, kind) for kind in KINDS),
    tuple(supply(kind, 5) for kind in KINDS),
    (planting("bed", "kale"),),
    draws=10 * SEASONS,
)
READ = prepare(ONE)
CALENDAR = calendar_of(ONE)
NEEDS = [bed_need(ONE, ONE.beds[0], READ.soils["bed"], CALENDAR)]
SEASONS_OF_ONE = seasons_of(ONE, CALENDAR, NEEDS)


def stuff_of(kind: str) -> Stuff:
    return raw_stuff(ONE.material(kind), READ.compositions[kind])


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("on_surface", [False, True])
def test_every_draw_gives_what_a_run_of_its_own_gives(kind: str, on_surface: bool) -> None:
    """The first draws meet the seasons one for one, so each has a run to stand beside; patterns are cut at 5 %."""
    stuff, seasons = stuff_of(kind), SEASONS_OF_ONE
    patterns, amount = release_draws(stuff, on_surface, seasons, 0)
    told = np.einsum("pwk,pj->wkj", patterns, amount)[:, :, :SEASONS]
    one = Portion(matter_of_stuff(stuff, seasons.numbers), on_surface)
    run = release_kernels([one], seasons.temp_c, seasons.numbers, moisture=seasons.moisture[:, 0])[0]
    size = max(np.abs(run).max(), 1e-9)
    assert np.sqrt(np.mean((told - run) ** 2)) <= 0.05 * size
    assert np.abs(np.median(told, axis=2) - np.median(run, axis=2)).max() <= 0.06 * size


def test_nothing_is_given_before_it_is_spread() -> None:
    patterns, _ = release_draws(stuff_of("grass-clippings"), True, SEASONS_OF_ONE, 0)
    assert np.all(patterns[:, np.tri(CALENDAR.weeks, k=-1, dtype=bool)] == 0.0)


def test_draws_are_shared_evenly_among_seasons() -> None:
    assert np.all(np.bincount(Seasons.of_draws(10 * SEASONS)) == 10)


def test_a_dry_year_slows_release_and_a_wet_one_washes_out() -> None:
    dry = ONE.model_copy(update={"climate": ONE.climate.model_copy(update={"rain_mm": (5.0,) * 12})})
    wet = ONE.model_copy(update={"climate": ONE.climate.model_copy(update={"rain_mm": (200.0,) * 12})})
    parched, soaked = (seasons_of(one, CALENDAR, NEEDS) for one in (dry, wet))
    assert parched.moisture.mean() < SEASONS_OF_ONE.moisture.mean()
    ends = [np.median(one.soil_n_kg_m2[:, 0, -1]) for one in (soaked, SEASONS_OF_ONE)]
    assert ends[0] < ends[1]
    grass = stuff_of("grass-clippings")
    slow, usual = (release_draws(grass, True, one, 0) for one in (parched, SEASONS_OF_ONE))
    assert np.median((slow[0][:, 2, 6][:, None] * slow[1]).sum(axis=0)) < np.median(
        (usual[0][:, 2, 6][:, None] * usual[1]).sum(axis=0)
    )


def beds_of(*textures: str) -> Seasons:
    """Return the seasons of a garden of beds that differ in texture alone."""
    named = [(f"bed-{at}", texture) for at, texture in enumerate(textures)]
    beds = tuple(ONE.beds[0].model_copy(update={"id": name, "texture": texture}) for name, texture in named)
    grown = tuple(ONE.plantings[0].model_copy(update={"bed": name}) for name, _ in named)
    many = ONE.model_copy(update={"beds": beds, "plantings": grown})
    return seasons_of(many, CALENDAR, [bed_need(many, bed, READ.soils["bed"], CALENDAR) for bed in beds])


def test_each_kind_of_soil_is_run_as_if_it_were_the_only_one() -> None:
    """Sand is dry and slow, clay loam moist and quick; neither knows of the other."""
    both, grass = beds_of("clay loam", "sand", "clay loam"), stuff_of("grass-clippings")
    assert both.soil_of.tolist() == [1, 0, 1]
    given = []
    for soil, texture in enumerate(("sand", "clay loam")):
        alone = beds_of(texture)
        told, own = (release_draws(grass, True, one, at) for one, at in ((both, soil), (alone, 0)))
        given.append(np.einsum("pwk,pj->wkj", *told))
        np.testing.assert_allclose(given[-1], np.einsum("pwk,pj->wkj", *own), atol=1e-9)
    slow, quick = (float(np.median(one[2, -1])) for one in given)
    assert 0.0 < slow < 0.8 * quick


def test_beds_alike_share_a_run() -> None:
    assert beds_of("loam", "loam", "loam").soils == 1
