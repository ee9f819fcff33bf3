"""Blends: how much of which materials go together, in kilograms and in whole buckets, and why none does when none does."""

from loamery.blend.bounds import Bounds, Range
from loamery.blend.explain import Explanation, explain_no_blend
from loamery.blend.ingredient import Ingredient
from loamery.blend.result import BlendResult, LimitState, Portion
from loamery.blend.solve import solve_blend

__all__ = [
    "BlendResult",
    "Bounds",
    "Explanation",
    "Ingredient",
    "LimitState",
    "Portion",
    "Range",
    "explain_no_blend",
    "solve_blend",
]
