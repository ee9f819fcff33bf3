"""Ways to use stuff on a bed, and what a kilogram gives: in the middle, and in every draw and course of the weather.

Whatever describes release, it ends here as patterns over weeks times an amount in each draw,
n(spread in a, by the end of k, draw) = sum over p of amount(p, draw) pattern(p, a, k), which is how the programme takes it,
for every kind of soil that the garden's beds have.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.bed.release import mulch_left
from loamery.garden.model import Info, Use
from loamery.reference import coefficient
from loamery.season.calendar import Calendar
from loamery.season.from_bed import Seasons, release_draws
from loamery.season.stuff import Stuff
from loamery.uncertain import from_range

Array = NDArray[np.float64]


@dataclass(frozen=True)
class OnSoil:
    """The nitrogen a kilogram gives on one kind of soil in every draw.

    Parameters
    ----------
    patterns : shape (patterns, weeks spread, weeks); amount : kg of nitrogen per kg, (patterns, draws).
    """

    patterns: Array
    amount: Array

    @property
    def by_the_end(self) -> Array:
        """Return what a kilogram has given by the end of the season, mean of all weeks of spreading, (draws,)."""
        return np.asarray(self.patterns[:, :, -1].mean(axis=1) @ self.amount)

    @property
    def middle(self) -> Array:
        """Return release at the medians of what the patterns amount to, (weeks spread, weeks)."""
        return np.asarray(np.tensordot(np.median(self.amount, axis=1), self.patterns, axes=1))

    def nitrogen(self, kg: Array) -> Array:
        """Return the nitrogen that kilograms spread week by week give by the end of each week, shape (weeks, draws)."""
        return np.asarray(np.tensordot(kg, self.patterns, axes=(0, 1)).T @ self.amount)


@dataclass(frozen=True)
class Release:
    """What a kilogram gives in every draw.

    Parameters
    ----------
    soils : on each kind of soil. soil_of : the kind of each bed, (beds,).
    p, k : available in the season, kg per kg, (draws,).
    """

    soils: tuple[OnSoil, ...]
    soil_of: NDArray[np.int64]
    p: Array
    k: Array

    def on_bed(self, bed: int) -> OnSoil:
        """Return what it gives on a bed."""
        return self.soils[int(self.soil_of[bed])]

    @property
    def by_the_end(self) -> Array:
        """Return what a kilogram has given by the end of the season, mean of all weeks of spreading and kinds of soil, (draws,)."""
        return np.asarray(np.mean([one.by_the_end for one in self.soils], axis=0))


@dataclass(frozen=True)
class Spread:
    """One way to use one stuff on a bed, with what a kilogram of it gives.

    Parameters
    ----------
    n_kg_kg : nitrogen available on each bed by the end of a week when spread in a week, in the middle, shape (beds, weeks, weeks).
    p_kg_kg, k_kg_kg : available in the season, in the middle.
    left : share of a mulch still lying there, shape (weeks, weeks); zeros for material dug in.
    decayed : share of a mulch that has decayed into the soil by the end of the season; 1 for material dug in.
    release : the same in every draw.
    depth_limit_m : deepest layer of it; infinite for material dug in.
    planned : whether a plan may use it so; what was spread otherwise is only reckoned with.
    """

    stuff: Stuff
    use: Use
    n_kg_kg: Array
    p_kg_kg: float
    k_kg_kg: float
    left: Array
    decayed: float
    release: Release
    depth_limit_m: float = np.inf
    planned: bool = True

    @property
    def name(self) -> str:
        """Return a name unique in the season."""
        return f"{self.stuff.id} / {self.use}"

    def reaching(self, key: str) -> float:
        """Return the share of a substance that reaches the soil this season: salts and potassium wash out at once."""
        return 1.0 if key in ("K", "salt") else self.decayed

    def held(self, key: str) -> Array | None:
        """Return draws of what reaches the soil from a kilogram of P, K, ``salt`` or a trace element; None when nobody knows."""
        stuff = self.stuff
        draws = {"P": stuff.p, "K": stuff.k, "salt": stuff.salts}.get(key, stuff.trace.get(key))
        return None if draws is None else draws * self.reaching(key)


def spreads_of(
    stuffs: Sequence[Stuff],
    calendar: Calendar,
    info: Info,
    seasons: Seasons,
    done: Container[tuple[str, Use]] = (),
) -> tuple[Spread, ...]:
    """Return every way in which stuff may be used on beds, and in which it was used already (id and use)."""
    uses: tuple[Use, Use] = ("mulch", "dig_in")
    return tuple(
        _spread(one, use, calendar, seasons, info)
        for one in stuffs
        for use in uses
        if _spreadable(one, use) or (one.id, use) in done
    )


def _spreadable(stuff: Stuff, use: str) -> bool:
    return use in stuff.uses and (use != "mulch" or stuff.mulch_depth_m > 0)


def _spread(stuff: Stuff, use: Use, calendar: Calendar, seasons: Seasons, info: Info) -> Spread:
    on_surface = use == "mulch"
    release = _by_bed(stuff, on_surface, seasons, info)
    decayed = stuff.decay.decomposed_frac if on_surface else 1.0
    return Spread(
        stuff=stuff,
        use=use,
        n_kg_kg=np.stack([one.middle for one in release.soils])[release.soil_of],
        p_kg_kg=float(np.median(stuff.p)) * stuff.decay.p_share * decayed,
        k_kg_kg=float(np.median(stuff.k)) * stuff.decay.k_share,
        left=mulch_left(stuff.decay, calendar.temp_c) if on_surface else np.zeros((calendar.weeks, calendar.weeks)),
        decayed=decayed,
        release=release,
        planned=_spreadable(stuff, use),
        depth_limit_m=stuff.mulch_depth_m if on_surface else np.inf,
    )


def _by_bed(stuff: Stuff, on_surface: bool, seasons: Seasons, info: Info) -> Release:
    """Return release by the bed model, and P and K by the published shares."""
    decay, draws = stuff.decay, stuff.dry.size
    decayed = decay.decomposed_frac if on_surface else 1.0
    return Release(
        soils=tuple(OnSoil(*release_draws(stuff, on_surface, seasons, soil)) for soil in range(seasons.soils)),
        soil_of=seasons.soil_of,
        p=stuff.p * _available("p", decay.p_share, draws, info) * decayed,
        k=stuff.k * _available("k", decay.k_share, draws, info),
    )


def _available(key: str, share: float, draws: int, info: Info) -> Array:
    """Return draws of the share of P or K that is available; its spread is that of the general coefficient."""
    one = coefficient(f"{key}_availability")
    factor = from_range("lognormal", one.low, one.high, one.value).draw(draws, info.seed, "availability", key)
    return np.minimum(share * factor / one.value, 1.0)
