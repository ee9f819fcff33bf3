"""Ingredients with draws, made from published-like ranges; the figures are ours, for tests only."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loamery.blend import Ingredient
from loamery.uncertain import from_range

RANGES: dict[str, dict[str, tuple[float, float]]] = {
    "coffee": {"w": (0.55, 0.68), "N": (0.019, 0.026), "C": (0.45, 0.52), "ash": (0.01, 0.03), "rho": (380, 520), "f": (0.85, 0.99)},
    "leaves": {"w": (0.20, 0.40), "N": (0.006, 0.012), "C": (0.44, 0.52), "ash": (0.06, 0.15), "rho": (60, 120), "f": (0.01, 0.1)},
    "chips": {"w": (0.30, 0.50), "N": (0.002, 0.005), "C": (0.45, 0.52), "ash": (0.01, 0.04), "rho": (220, 330), "f": (0.03, 0.2)},
    "grass": {"w": (0.72, 0.84), "N": (0.026, 0.042), "C": (0.40, 0.46), "ash": (0.08, 0.16), "rho": (180, 350), "f": (0.02, 0.15)},
    "straw": {"w": (0.08, 0.16), "N": (0.004, 0.008), "C": (0.42, 0.48), "ash": (0.05, 0.1), "rho": (60, 140), "f": (0.01, 0.08)},
    "manure": {"w": (0.60, 0.75), "N": (0.012, 0.022), "C": (0.36, 0.45), "ash": (0.12, 0.3), "rho": (500, 800), "f": (0.2, 0.5)},
}  # fmt: skip
KINDS = {"w": "logit", "N": "lognormal", "C": "lognormal", "ash": "logit", "rho": "lognormal", "f": "logit"}

Make = Callable[..., Ingredient]


@pytest.fixture
def make() -> Make:
    """Return a maker of ingredients: ``make("coffee", seed=2, stock_kg=100)``; ``n=1`` gives plain numbers."""

    def one(name: str, seed: int = 1, n: int = 1000, **keywords: object) -> Ingredient:
        def draw(key: str) -> object:
            spread = from_range(KINDS[key], *RANGES[name][key])
            return spread.median if n == 1 else spread.draw(n, seed, name, key)

        return Ingredient(name, draw("w"), draw("C"), draw("N"), None, draw("ash"), draw("rho"), draw("f"), **keywords)  # type: ignore[arg-type]

    return one
