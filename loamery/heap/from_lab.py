"""A heap from what the laboratory knows of its materials."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from loamery.heap.matter import Part, middle
from loamery.heap.spec import Geometry, HeapSpec


def spec_from_composition(
    parts: Sequence[Part],
    geometry: Geometry = "pile",
    *,
    water_kg: float = 0.0,
    compost_share: float = 0.0,
    **heap: Any,
) -> HeapSpec:
    """Return the heap that materials make at the middle of what is known of them.

    Parameters
    ----------
    parts : compositions with their masses as received, kg.
    water_kg : added when it is built.
    compost_share : of the dry matter, finished compost mixed in.
    heap : the other fields of `HeapSpec`; the volume of a bin or pile follows from the masses unless given.

    Raises
    ------
    InputError : no masses, or a composition that lacks what the model needs.
    """
    stuff = middle(parts, water_kg=water_kg, compost_share=compost_share)
    mass_kg = sum(part.kg for part in parts) + water_kg
    if geometry != "layer":
        heap.setdefault("volume_m3", mass_kg / stuff.bulk_density_kg_m3)
    return HeapSpec(stuff, geometry, **heap)
