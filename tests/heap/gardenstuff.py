"""Materials and heaps that the tests of the forecast share; published ranges only, nothing measured by us."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import Any

from loamery.heap.climate import Normals
from loamery.heap.forecast import HeapPlan
from loamery.heap.matter import Part
from loamery.lab.combine import compose
from loamery.lab.composition import Composition

MILD = Normals.constant(14.0, 60.0)
START = date(2027, 5, 1)


@cache
def material(kind: str) -> Composition:
    return compose(kind, ())


def part(kind: str, kg: float = 1.0) -> Part:
    return Part(material(kind), kg)


HOT = (
    part("manure-horse-straw", 200),
    part("leaves-mixed", 60),
    part("grass-clippings", 80),
    part("chips-arborist", 60),
)


def plan(**more: Any) -> HeapPlan:
    return HeapPlan(HOT, START, **{"volume_m3": 1.5, **more})
