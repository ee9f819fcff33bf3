"""How thick a layer of mulch may be before it goes airless, heats, or keeps the rain out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.finding import Band
from loamery.heap.matter import Part, fines_of, litre_weight, stuff_draws
from loamery.heap.mulch_layers import DEPTHS_M, REASONS, Layers, Site, crossing
from loamery.reference import coefficient
from loamery.say import say
from loamery.uncertain import band

Array = NDArray[np.float64]
MOST_DRAWS, TABLE_DRAWS = 200, 16
MOST_MONTH_MM, MM_PER_M, S_PER_MIN = 1000.0, 1000.0, 60.0
COARSE_SHARES = (0.0, 0.25, 0.5, 0.75)
"""Shares of coarse chips by volume in the table of depth against fines."""
HALF = 0.5


@dataclass(frozen=True)
class TableRow:
    """One mix of the table of depth against share of fines.

    Parameters
    ----------
    chips : share of coarse chips by volume, loose.
    fines : share of the dry matter finer than 2 mm.
    limit : greatest depth, m.
    verdicts : for each depth of DEPTHS_M ``fine`` or the reason that most draws fail for.
    """

    chips: float
    fines: float
    limit: Band
    verdicts: tuple[str, ...]

    def as_dict(self) -> dict[str, object]:
        """Return the row ready for JSON."""
        return {**vars(self), "limit": self.limit.as_dict(), "verdicts": list(self.verdicts)}


@dataclass(frozen=True)
class MulchLimit:
    """How thick a mulch may be.

    Parameters
    ----------
    limit : greatest depth that stays airy and cool and lets the rain in, m, with its 90 % band.
    first : which fault comes first, with the share of draws in which it does; ``none`` when none comes up to the thickest depth.
    by_reason : greatest depth for each fault alone, m.
    least_o2, rise : lowest oxygen, volume fraction, and warming above the air, K, by depth of `depths_m`, median of the draws.
    conductivity_m_s : for water.
    shower_mm : the shower it should let in; month_mm the rain of a month in the runs.
    table : depth against share of fines, thinned with chips.
    """

    materials: tuple[str, ...]
    limit: Band
    first: Mapping[str, float]
    by_reason: Mapping[str, Band]
    depths_m: tuple[float, ...]
    least_o2: tuple[float, ...]
    rise_k: tuple[float, ...]
    conductivity_m_s: Band
    fines: float
    air_c: float
    shower_mm: float
    month_mm: float
    draws: int
    table: tuple[TableRow, ...] = ()

    def as_dict(self) -> dict[str, object]:
        """Return the answer ready for JSON."""
        return {
            **vars(self),
            "limit": self.limit.as_dict(),
            "by_reason": {key: one.as_dict() for key, one in self.by_reason.items()},
            "conductivity_m_s": self.conductivity_m_s.as_dict(),
            "table": [one.as_dict() for one in self.table],
        }


def mulch_limit(
    parts: Sequence[Part],
    air_c: float = 20.0,
    draws: int = 40,
    seed: int = 1,
    *,
    chips: Part | None = None,
    rain_m_s: float | None = None,
    month_mm: float | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> MulchLimit:
    """Return how thick a mulch of a material or mix may be.

    Parameters
    ----------
    air_c : mean air temperature while it lies fresh.
    draws : 3 to 200.
    chips : coarse chips to thin it with, for the table of depth against fines; no table when None.
    rain_m_s : the shower it should let in, for `mulch_design_minutes`; `mulch_design_rain` when None.
    month_mm : rain of a month while it lies fresh, on some days only; `mulch_month_rain` when None.

    Raises
    ------
    InputError : a number out of bounds, or a material that lacks a figure.
    """
    site = site_of(air_c, draws, rain_m_s, month_mm)
    progress("running layers of the material")
    own = _Trial(parts, site, draws, seed)
    rows = []
    for share in COARSE_SHARES if chips is not None else ():
        progress(f"running layers with {share:.0%} chips")
        rows.append(_row(_thinned(parts, chips, share), share, site, min(draws, TABLE_DRAWS), seed))  # type: ignore[arg-type]
    return MulchLimit(
        materials=tuple(one.composition.material for one in parts),
        limit=band(own.whole, "m"),
        first=own.first(),
        by_reason={key: band(value, "m") for key, value in own.depth.items()},
        depths_m=DEPTHS_M,
        least_o2=tuple(float(one) for one in np.median(own.least_o2, axis=0)),
        rise_k=tuple(float(one) for one in np.median(own.rise, axis=0)),
        conductivity_m_s=band(own.water, "m/s"),
        shower_mm=MM_PER_M * site.shower_m_s * S_PER_MIN * coefficient("mulch_design_minutes").value,
        month_mm=site.month_mm,
        fines=fines_of(parts),
        air_c=air_c,
        draws=draws,
        table=tuple(rows),
    )


def site_of(air_c: float, draws: int, rain_m_s: float | None, month_mm: float | None) -> Site:
    """Return where a mulch lies; the usual shower and rain of a month where they are None.

    Raises
    ------
    InputError : a number out of bounds.
    """
    for name, value, low, high in (("air temperature", air_c, -10.0, 45.0), ("draws", draws, 3, MOST_DRAWS)):
        if not low <= value <= high:
            raise InputError(
                say("{name} {value:g}", name=name, value=value),
                expected=say("{low:g} to {high:g}", low=low, high=high),
                remedy=say("change the {name}", name=name),
            )
    rain = coefficient("mulch_design_rain").value if rain_m_s is None else rain_m_s
    wet = coefficient("mulch_month_rain").value if month_mm is None else month_mm
    if not 0.0 < rain < 1e-3:
        raise InputError(
            say("rain of {rain:g} m/s", rain=rain),
            expected=say("above 0 and below 0.001"),
            remedy=say("correct the design rain"),
        )
    if not 0.0 <= wet <= MOST_MONTH_MM:
        raise InputError(
            say("{wet:g} mm a month", wet=wet),
            expected=say("0 to {MOST_MONTH_MM:g}", MOST_MONTH_MM=MOST_MONTH_MM),
            remedy=say("correct the rain"),
        )
    return Site(air_c, rain, wet)


class _Trial:
    """Layers of one mix at every depth, for every draw."""

    def __init__(self, parts: Sequence[Part], site: Site, draws: int, seed: int) -> None:
        layers = Layers(stuff_draws(parts, draws, seed), fines_of(parts), site, seed)
        found = layers.run([(draw, place) for draw in range(draws) for place in range(len(DEPTHS_M))])
        shape = (draws, len(DEPTHS_M))
        self.least_o2, self.rise, self.water = found.least_o2.reshape(shape), found.rise_k.reshape(shape), layers.water
        self.depth = {
            "airless": crossing(found.airless_days.reshape(shape), coefficient("mulch_airless_days").value),
            "heats": crossing(self.rise, coefficient("mulch_rise_max").value),
            "seals": crossing(layers.standing_m(), coefficient("mulch_ponding").value),
        }
        self.whole = np.min(np.stack(list(self.depth.values())), axis=0)

    def first(self) -> dict[str, float]:
        """Return how often each fault comes first."""
        stacked = np.stack([self.depth[key] for key in REASONS])
        which = np.where(self.whole >= DEPTHS_M[-1], len(REASONS), stacked.argmin(axis=0))
        return {key: float(np.mean(which == i)) for i, key in enumerate((*REASONS, "none"))}

    def verdicts(self) -> tuple[str, ...]:
        """Return for each depth what most draws say."""
        out = []
        for depth in DEPTHS_M:
            failed = {key: float(np.mean(value < depth)) for key, value in self.depth.items()}
            worst = max(failed, key=lambda key: failed[key])
            out.append(worst if float(np.mean(self.whole < depth)) > HALF else "fine")
        return tuple(out)


def _thinned(parts: Sequence[Part], chips: Part, share: float) -> list[Part]:
    """Return a mix thinned with a share of chips by loose volume."""
    if share <= 0.0:
        return list(parts)
    volume = sum(one.kg / litre_weight(one.composition) for one in parts)
    kg = share / (1.0 - share) * volume * litre_weight(chips.composition)
    return [*parts, Part(chips.composition, kg)]


def _row(parts: Sequence[Part], share: float, site: Site, draws: int, seed: int) -> TableRow:
    trial = _Trial(parts, site, draws, seed)
    return TableRow(share, fines_of(parts), band(trial.whole, "m"), trial.verdicts())
