"""Which of the things that are not known move the outcome of a plan: rank correlation over seasons that may come."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.bed.parameters import bed_parameters
from loamery.lab.published import kind_row
from loamery.names import quantity
from loamery.say import say
from loamery.season.carry_out import had_kg
from loamery.season.outcome import MEASURES
from loamery.season.problem import Problem
from loamery.season.replay import Replay
from loamery.season.years import Years

Array = NDArray[np.float64]
IN_COMPOSITION = ("N", "P", "K", "moisture", "bulk_density", "EC")
NINETY = 1.6448536269514722
"""Standard normal quantile at 0.95."""


@dataclass(frozen=True)
class Mover:
    """How one input moves one figure of the outcome.

    Parameters
    ----------
    rank : Spearman's correlation, -1 to 1; low, high its 90 % interval (Fisher).
    share : of the figure's variance in ranks that goes with this input alone.
    """

    name: str
    kind: str
    rank: float
    low: float
    high: float

    @property
    def share(self) -> float:
        """Return the share of the variance in ranks that goes with this input alone."""
        return self.rank**2

    @property
    def told(self) -> bool:
        """Tell whether the interval keeps clear of zero."""
        return self.low > 0.0 or self.high < 0.0

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {"input": self.name, "kind": self.kind, "rank": self.rank, "low": self.low, "high": self.high, "told": self.told}  # fmt: skip


def movers(played: Replay, figure: str = "short_n") -> list[Mover]:
    """Return how each input moves a figure of the outcome, the strongest first.

    Parameters
    ----------
    figure : a key of `MEASURES`, or ``worth``.

    Source
    ------
    Spearman's rank correlation with Fisher's interval (variance 1.06/(n - 3), Fieller et al. 1957, recalled).
    """
    goal = played.outcome.worth if figure == "worth" else played.outcome.figures[figure]
    if float(np.ptp(goal)) == 0.0:
        return []
    found = [
        _mover(name, kind, values, goal)
        for (name, kind), values in inputs_of(played.problem, played.years, _used(played)).items()
        if float(np.ptp(values)) > 0.0
    ]
    return sorted(found, key=lambda one: -abs(one.rank))


def _mover(name: str, kind: str, values: Array, goal: Array) -> Mover:
    rank = float(np.corrcoef(_ranks(values), _ranks(goal))[0, 1])
    spread = NINETY * np.sqrt(1.06 / max(goal.size - 3, 1))
    middle = float(np.arctanh(np.clip(rank, -0.999999, 0.999999)))
    return Mover(name, kind, rank, float(np.tanh(middle - spread)), float(np.tanh(middle + spread)))


def _ranks(values: Array) -> Array:
    from scipy.stats import rankdata

    return np.asarray(rankdata(values), dtype=np.float64)


def _used(played: Replay) -> set[str]:
    """Return the materials that the plan uses."""
    raw = enumerate(played.problem.raw)
    return {one.id for index, one in raw if had_kg(played.problem, played.solution, index) > 0.0}


def inputs_of(problem: Problem, years: Years, used: set[str]) -> Mapping[tuple[str, str], Array]:
    """Return what is not known of a season, by (name, kind), each of shape (n,)."""
    out: dict[tuple[str, str], Array] = {}
    for stuff in problem.raw:
        if stuff.id not in used:
            continue
        known = years.compositions[stuff.id]
        for key in IN_COMPOSITION:
            if key in known:
                what = quantity(known[key].quantity).label.lower()
                out[say("{name}: {what}", name=stuff.name, what=what), "composition"] = known.draws(key)
    kinds = {
        spread.stuff.kind: spread.stuff for spread in problem.spreads if spread.stuff.id in used or spread.stuff.made_of
    }
    for kind in kinds:
        name = kind_row(kind)["name"].lower()
        out[say("how much of {name} decomposes", name=name), "decay"] = years.decomposed(kind)
    supply = bed_parameters(years.n, years.seed)["soil_n_supply_per_percent_som"]
    out[say("nitrogen from the soil's organic matter"), "soil and crop"] = supply
    for key, label in (
        ("p_availability", say("phosphorus that counts this season")),
        ("k_availability", say("potassium that counts this season")),
    ):
        out[label, "soil and crop"] = years.factor(key)
    out[say("warmth of the season"), "weather"] = years.season_warmth
    out[say("rain of the season"), "weather"] = years.season_rain
    return out


def label_of(figure: str) -> str:
    """Return a figure of the outcome in words."""
    return next((one.label for one in MEASURES if one.key == figure), say("what the season is worth"))
