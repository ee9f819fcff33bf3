"""What a blend has to be like: ranges with a reasonable and a preferred part, from published tables."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from loamery.errors import InputError
from loamery.reference import Coefficient, coefficient
from loamery.say import say
from loamery.units import to_si

Side = tuple[float | None, float | None]
QUANTITIES = ("cn", "moisture", "free_air_space", "bulk_density", "fines", "nitrogen", "salt")
LABELS = {
    "cn": "C:N", "moisture": say("moisture"), "free_air_space": say("free air space"), "bulk_density": say("bulk density"),
    "fines": say("share of fines"), "nitrogen": say("nitrogen in dry matter"), "salt": say("salt (EC)"),
}  # fmt: skip
UNITS = {
    "cn": ("", 1.0), "moisture": ("%", 100.0), "free_air_space": ("%", 100.0), "bulk_density": ("kg/m3", 1.0),
    "fines": ("%", 100.0), "nitrogen": ("%", 100.0), "salt": ("dS/m", 10.0),
}  # fmt: skip
"""Unit people see and the factor that takes the SI value to it, by quantity."""


@dataclass(frozen=True)
class Range:
    """A quantity's hard ends (low, high) and the part of it that is best (preferred).

    Raises
    ------
    InputError : an end is not a number, or the low end lies above the high one.
    """

    low: float | None = None
    high: float | None = None
    preferred_low: float | None = None
    preferred_high: float | None = None
    sources: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        ends = (self.low, self.high, self.preferred_low, self.preferred_high)
        if any(end is not None and not math.isfinite(end) for end in ends):
            raise InputError(
                say("a bound of {ends}", ends=ends),
                expected=say("numbers"),
                remedy=say("leave an end out to leave it open"),
            )
        for low, high in ((self.low, self.high), (self.preferred_low, self.preferred_high)):
            if low is not None and high is not None and low > high:
                raise InputError(
                    say("a bound from {low:g} to {high:g}: the low end is above the high one", low=low, high=high),
                    expected=say("the lower figure first"),
                    remedy=say("swap the two ends"),
                )

    @property
    def target(self) -> tuple[float | None, float | None, float] | None:
        """Return (low, high, scale) that ‘closest’ aims at: the middle of a two-sided preference, else its one end."""
        low, high = self.preferred_low, self.preferred_high
        if low is not None and high is not None:
            middle = 0.5 * (low + high)
            return middle, middle, 0.5 * (high - low) or abs(middle) or 1.0
        if low is None and high is None:
            return None
        return low, high, abs(low if low is not None else high or 0.0) or 1.0


@dataclass(frozen=True)
class Bounds:
    """All bounds of a blend, each a range or None for no bound.

    Parameters
    ----------
    cn : total C over total N.
    moisture, free_air_space : shares of wet mass and of bulk volume.
    bulk_density : kg/m3 as built.
    fines : share of dry matter finer than 2 mm.
    nitrogen : kg/kg dry matter.
    salt : electrical conductivity weighted by dry mass, S/m; a rough guide.
    shares : (low, high) share of the mass, added water left out, by ingredient.
    volume_shares : (low, high) share of the volume by ingredient.
    """

    cn: Range | None = None
    moisture: Range | None = None
    free_air_space: Range | None = None
    bulk_density: Range | None = None
    fines: Range | None = None
    nitrogen: Range | None = None
    salt: Range | None = None
    shares: Mapping[str, Side] = field(default_factory=dict)
    volume_shares: Mapping[str, Side] = field(default_factory=dict)

    @classmethod
    def reasonable(cls) -> Bounds:
        """Return the published outer ranges, with the preferred ranges as what to aim at.

        Source
        ------
        coefficients.csv and coefficients_blend.csv (recommended conditions after NRAES-54 1992 and Cooperband 2002).
        """
        return cls(
            cn=_range("cn_low", "cn_high", "cn_preferred_low", "cn_preferred_high"),
            moisture=_range("moisture_low", "moisture_high", "moisture_preferred_low", "moisture_preferred_high"),
            free_air_space=_range("fas_min", None, "fas_preferred_low", None),
            bulk_density=_range(None, "bulk_density_max_reasonable", None, "bulk_density_max"),
            fines=_range(None, "fines_high", None, "fines_preferred_high"),
        )

    @classmethod
    def preferred(cls) -> Bounds:
        """Return the published preferred ranges as hard bounds."""
        wide = cls.reasonable()
        narrow = {
            key: replace(one, low=one.preferred_low, high=one.preferred_high)
            for key in QUANTITIES
            if (one := getattr(wide, key)) is not None
        }
        return cls(**narrow)

    def ranges(self) -> dict[str, Range]:
        """Return the ranges that are set, by quantity."""
        return {key: one for key in QUANTITIES if (one := getattr(self, key)) is not None}


def _range(low: str | None, high: str | None, best_low: str | None, best_high: str | None) -> Range:
    found = [None if key is None else coefficient(key) for key in (low, high, best_low, best_high)]
    keys = tuple(dict.fromkeys(one.source for one in found if one is not None))
    ends = [None if one is None else _si(one) for one in found]
    return Range(ends[0], ends[1], ends[2], ends[3], keys)


def _si(one: Coefficient) -> float:
    return to_si(one.value, one.unit) if one.unit == "dS/m" else one.value


def salt_advice_s_m() -> float:
    """Return the conductivity above which a blend is called salty, S/m."""
    return _si(coefficient("ec_blend_max"))
