"""What simulators found, taken in place of the published factors when a season is solved again.

Give a `Believed` to `loamery.season.make.solve_prepared`: whatever it does not name stays as published.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
KEPT = ("dm", "C", "N", "P", "K")


@dataclass(frozen=True)
class Believed:
    """Lead times and losses to plan with.

    Parameters
    ----------
    lead_weeks : by recipe id: weeks from building in each week of the season to usable compost, shape (weeks,).
    lost : by recipe id: share lost of ``dm`` (dry matter), ``C``, ``N``, ``P``, ``K``, 0 to 1.
    soil_n_kg_m2 : by bed id: nitrogen there for the crop with nothing spread, by the end of each week, shape (weeks,).
    castings_share : dry castings from a kilogram of dry feed.
    room : by block of rows of the programme, how much of its limit may be used, above 0 and at most 1.
    """

    lead_weeks: Mapping[str, Array] = field(default_factory=dict)
    lost: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    soil_n_kg_m2: Mapping[str, Array] = field(default_factory=dict)
    castings_share: float | None = None
    room: Mapping[str, float] = field(default_factory=dict)


AS_PUBLISHED = Believed()
