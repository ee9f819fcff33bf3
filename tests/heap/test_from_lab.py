from __future__ import annotations

import pytest

from loamery.errors import InputError
from loamery.heap.from_lab import spec_from_composition
from loamery.heap.matter import Part
from loamery.heap.model import simulate
from loamery.lab.combine import compose
from loamery.lab.composition import Composition

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
