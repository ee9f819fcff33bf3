"""Heaps drawn at random, for tests that must hold for any heap."""

from __future__ import annotations

import numpy as np

from loamery.heap.parameters import heap_parameters
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather


def random_heap(seed: int, days: int = 120) -> HeapSpec:
    """Return a heap of any shape with six turnings, rain, watering and feeding."""
    rng = np.random.default_rng(seed)
    fast, slow, recal = rng.dirichlet([2.0, 3.0, 2.0])
    moisture, ash = rng.uniform(0.15, 0.80), rng.uniform(0.0, 0.45)
    per_organic = rng.uniform(0.42, 0.58)
    # never more than what fits: solids and water below 97 % of the space
    full = moisture / 1000.0 + (1.0 - moisture) * ((1.0 - ash) / 1550.0 + ash / 2500.0)
    stuff = Stuff(
        moisture, min(rng.uniform(0.15, 0.97) / full, 1390.0), per_organic * (1.0 - ash), rng.uniform(0.002, 0.06), ash, fast, slow,
        recal, particle_m=float(np.exp(rng.uniform(np.log(2e-4), np.log(0.04)))), ph=rng.uniform(4.5, 8.5),
        ammonium_share=rng.uniform(0.0, 0.4), compost_share=rng.uniform(0.0, 0.5),
    )  # fmt: skip
    shape = ("layer", "bin", "pile")[seed % 3]
    size = {"depth_m": float(np.exp(rng.uniform(np.log(0.01), np.log(1.0))))} if shape == "layer" else {
        "volume_m3": float(np.exp(rng.uniform(np.log(0.005), np.log(8.0))))
    }  # fmt: skip
    return HeapSpec(
        stuff, shape, **size, start_temp_c=rng.uniform(2.0, 35.0), wall_r=rng.uniform(0.0, 1.0), wall_open=rng.uniform(0.0, 1.0),  # type: ignore[arg-type]
        cover_r=rng.uniform(0.0, 0.5), cover_open=rng.uniform(0.05, 1.0), rain_share=rng.uniform(0.0, 1.0),
        vent=rng.uniform(0.0, 1.0), ground=bool(rng.integers(2)), turn_days=tuple(np.sort(rng.uniform(1.0, days - 1.0, 6))),
        waterings=tuple((day, rng.uniform(0.0, 20.0)) for day in rng.uniform(1.0, days - 1.0, 3)),
        weather=random_weather(rng, days), changes={"diffusion_model": float(rng.integers(3))},
        feedings=tuple((day, rng.uniform(0.1, 5.0)) for day in rng.uniform(0.0, days, int(rng.integers(0, 8)))),
    )  # fmt: skip


def random_weather(rng: np.random.Generator, days: int) -> Weather:
    """Return restless weather, frost and cloudbursts included."""
    air = rng.uniform(-10.0, 28.0) + 6.0 * rng.standard_normal(days)
    rain = np.where(rng.random(days) < 0.3, rng.exponential(8.0, days), 0.0)
    return Weather.daily(np.clip(air, -30.0, 42.0), np.minimum(rain, 90.0), rng.uniform(0.3, 1.0, days), rng.uniform(0.0, 8.0, days),
                         rng.uniform(0.0, 300.0, days))  # fmt: skip


def random_changes(seed: int) -> dict[str, float]:
    """Return every parameter drawn evenly within its range."""
    rng = np.random.default_rng(seed)
    drawn = {name: float(rng.uniform(one.low, one.high)) for name, one in heap_parameters().items()}
    return drawn | {"diffusion_model": float(rng.integers(3))}
