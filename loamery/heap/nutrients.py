"""What a heap holds of plant food, when it is built and at the end of a forecast."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band
from loamery.heap.forecast import Forecast
from loamery.reference import coefficient
from loamery.say import say
from loamery.uncertain import band, from_range

Array = NDArray[np.float64]
FOODS = {"N": say("nitrogen"), "P": say("phosphorus"), "K": say("potassium")}
DRAWS, SEED = 400, 1


@dataclass(frozen=True)
class Food:
    """One nutrient in a heap.

    Parameters
    ----------
    start, end : kg, as the element.
    of_dry : share of the dry matter at the end.
    """

    key: str
    name: str
    start: Band
    end: Band
    of_dry: Band

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        bands = {key: getattr(self, key).as_dict() for key in ("start", "end", "of_dry")}
        return {"key": self.key, "name": self.name, **bands}


def foods_left(told: Forecast) -> tuple[Food, ...]:
    """Return nitrogen as the model leaves it, and phosphorus and potassium less what published figures say is washed out.

    Notes
    -----
    A covered heap washes nothing out. A nutrient that the composition of a part lacks is left out.
    """
    dry = told.total("dry_kg", "kg")
    out = [Food("N", FOODS["N"], told.total("nitrogen_kg", "kg", 0), told.total("nitrogen_kg", "kg"), told.n_of_dry)]
    for key in ("P", "K"):
        start = _start_kg(told, key)
        if start is not None:
            end = start * (1.0 - _washed(told, key))
            out.append(Food(key, FOODS[key], band(start, "kg"), band(end, "kg"), band(end / dry.median, "1")))
    return tuple(out)


def _start_kg(told: Forecast, key: str) -> Array | None:
    plan = told.plan
    if any(key not in one.composition for one in plan.parts):
        return None
    n = min(DRAWS, *(one.composition.n for one in plan.parts))
    built = plan.volume_m3 * plan.middle.bulk_density_kg_m3
    scale = built / (sum(one.kg for one in plan.parts) + plan.water_kg)
    held = [
        one.kg * (1.0 - one.composition.draws("moisture")[:n]) * one.composition.draws(key)[:n] for one in plan.parts
    ]
    return np.asarray(scale * np.sum(held, axis=0))


def _washed(told: Forecast, key: str) -> Array | float:
    if told.plan.covered:
        return 0.0
    one = coefficient(f"heap_{key.lower()}_loss")
    low = max(one.low, 0.01 * one.value)
    return np.clip(from_range("lognormal", low, one.high, one.value).draw(DRAWS, SEED, "washed", key), 0.0, one.high)
