from __future__ import annotations

from dataclasses import replace

import pytest

from loamery.errors import InputError
from loamery.heap.from_lab import spec_from_composition
from loamery.heap.matter import Part
from loamery.heap.model import simulate
from loamery.heap.weather import Weather
from loamery.lab.combine import compose
from loamery.lab.composition import Composition
from loamery.reference import table

GROUNDS, LEAVES = "coffee-spent", "leaves-mixed"


def test_a_heap_follows_from_materials_and_masses() -> None:
    parts = [Part(compose(GROUNDS, []), 150.0), Part(compose(LEAVES, []), 150.0)]
    spec = spec_from_composition(parts, water_kg=100.0)
    assert spec.built_kg == pytest.approx(400.0, rel=1e-9)
    assert spec.stuff.fast + spec.stuff.slow + spec.stuff.recalcitrant == pytest.approx(1.0, abs=1e-9)
    assert simulate(spec, 20.0).peak()[0] > 40.0


def test_nothing_to_build_with_is_refused() -> None:
    with pytest.raises(InputError):
        spec_from_composition([])


def test_a_composition_without_nitrogen_is_refused() -> None:
    whole = compose(GROUNDS, [])
    bare = Composition(whole.material, whole.kind, {key: one for key, one in whole.estimates.items() if key != "N"})
    with pytest.raises(InputError, match=r"nitrogen|N"):
        spec_from_composition([Part(bare, 100.0)])


def test_a_blend_holds_the_water_of_its_parts() -> None:
    grounds, leaves = (compose(kind, []) for kind in (GROUNDS, LEAVES))
    held = {row["slug"]: float(row["value"]) for row in table("heap_water_held")}
    dry = {one.kind: kg * (1.0 - one.median("moisture")) for one, kg in ((grounds, 300.0), (leaves, 50.0))}
    mixed = spec_from_composition([Part(grounds, 300.0), Part(leaves, 50.0)]).stuff.field_capacity
    per_dry = sum(kg * held[kind] for kind, kg in dry.items()) / sum(dry.values())
    assert mixed == pytest.approx(per_dry / (1.0 + per_dry), rel=0.02)  # medians of draws
    assert mixed is not None and mixed > 0.67  # grounds alone hold 2 kg per kg


def test_every_material_has_its_own_figure() -> None:
    assert {row["slug"] for row in table("materials")} <= {row["slug"] for row in table("heap_water_held")}


def test_wet_manure_keeps_the_water_that_a_heap_of_straw_and_chips_lets_go() -> None:
    weather = Weather.constant(8.0, 30, rain_mm_per_day=6.0)
    left = {}
    for kind in ("manure-cattle", "chips-softwood"):
        spec = spec_from_composition([Part(compose(kind, []), 300.0)], weather=weather)
        run = simulate(replace(spec, stuff=replace(spec.stuff, moisture=0.7, bulk_density_kg_m3=500.0)), 30.0, 10)
        left[kind] = run.mean_moisture[-1]
    assert left["manure-cattle"] > 0.72 > 0.68 > left["chips-softwood"]
