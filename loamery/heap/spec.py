"""A heap as a person describes it: what is in it, its shape and walls, what is done to it, the weather."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from loamery.errors import InputError
from loamery.heap.weather import Weather
from loamery.say import say

Geometry = Literal["layer", "bin", "pile"]


@dataclass(frozen=True)
class Stuff:
    """What a heap is built of.

    Parameters
    ----------
    moisture : kg water per kg as built.
    bulk_density_kg_m3 : as built, wet and loose.
    c_dm, n_dm, ash_dm : kg per kg dry matter.
    fast, slow, recalcitrant : shares of the organic matter, together 1.
    particle_m : size that sets the resistance to air, m.
    ph : at the start.
    ammonium_share : of the nitrogen, ammoniacal at the start.
    compost_share : of the dry matter, finished compost mixed in.
    field_capacity : moisture above which its water drains, kg per kg wet; the parameter of that name when None.
    """

    moisture: float
    bulk_density_kg_m3: float
    c_dm: float
    n_dm: float
    ash_dm: float
    fast: float
    slow: float
    recalcitrant: float
    particle_m: float = 0.005
    ph: float = 6.5
    ammonium_share: float = 0.02
    compost_share: float = 0.0
    field_capacity: float | None = None

    def __post_init__(self) -> None:
        _within(say("moisture"), self.moisture, 0.01, 0.95, say("kg water per kg as built"))
        _within(say("bulk density"), self.bulk_density_kg_m3, 20.0, 1400.0, "kg/m3")
        _within(say("carbon"), self.c_dm, 0.02, 0.75, say("kg per kg dry matter"))
        _within(
            say("nitrogen"), self.n_dm, 1e-5, 0.20, say("kg per kg dry matter: a blend without nitrogen cannot work")
        )
        _within(say("ash"), self.ash_dm, 0.0, 0.95, say("kg per kg dry matter"))
        _within(say("particle size"), self.particle_m, 2e-5, 0.2, "m")
        _within("pH", self.ph, 2.0, 12.0, "")
        _within(say("ammonium share of nitrogen"), self.ammonium_share, 0.0, 0.95, "")
        _within(say("compost share"), self.compost_share, 0.0, 1.0, say("of the dry matter"))
        if self.field_capacity is not None:
            _within(say("field capacity"), self.field_capacity, 0.1, 0.97, say("kg water per kg wet"))
        for name in ("fast", "slow", "recalcitrant"):
            _within(say("{name} share", name=name), getattr(self, name), 0.0, 1.0, say("of the organic matter"))
        _within(
            say("fast, slow and recalcitrant together"), self.fast + self.slow + self.recalcitrant, 0.999, 1.001, ""
        )
        self._carbon_fits()

    def _carbon_fits(self) -> None:
        per_organic = self.c_dm / (1.0 - self.ash_dm)
        _within(say("carbon"), per_organic, 0.30, 0.78, say("kg per kg organic matter: check carbon and ash"))


@dataclass(frozen=True)
class HeapSpec:
    """One heap, mulch layer or bin.

    Parameters
    ----------
    stuff : what it is built of.
    geometry : ``layer`` (top open, on the ground), ``bin`` (upright, round, top open) or ``pile`` (half a ball).
    volume_m3 : as built, of a bin or pile.
    depth_m, area_m2 : of a layer.
    radius_m : of a bin; as wide as high when None.
    start_temp_c : of the stuff; the air of the first day when None.
    wall_r : m2 K/W of a bin's wall; wall_open its share that lets gas through.
    cover_r : m2 K/W of a cover on top; cover_open its share that lets gas through; rain_share what rain it lets in.
    vent : share of the warm air's way that is open at the bottom and top, 0 to 1.
    ground : whether it lies on soil; insulated below when False.
    turn_days : when it is turned, days from the start.
    waterings : (day, kg) given.
    feedings : (day, kg) of more stuff added later: over the whole of a bin, on top of a layer or pile.
    feed : what is added, the same as `stuff` when None. Pools, moisture, nitrogen and start of work are its own; ash, carbon per
        organic matter, pH, pieces and looseness have to be those of `stuff`.
    weather : daily, from the start, for every day of the run.
    changes : parameters of heap_parameters.csv to use in place of the defaults.
    """

    stuff: Stuff
    geometry: Geometry = "pile"
    volume_m3: float = 1.0
    depth_m: float = 0.1
    area_m2: float = 1.0
    radius_m: float | None = None
    start_temp_c: float | None = None
    wall_r: float = 0.0
    wall_open: float = 0.0
    cover_r: float = 0.0
    cover_open: float = 1.0
    rain_share: float = 1.0
    vent: float = 1.0
    ground: bool = True
    turn_days: tuple[float, ...] = ()
    waterings: tuple[tuple[float, float], ...] = ()
    feedings: tuple[tuple[float, float], ...] = ()
    feed: Stuff | None = None
    weather: Weather = field(default_factory=lambda: Weather.constant(15.0))
    changes: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.geometry not in ("layer", "bin", "pile"):
            raise InputError(
                say("shape “{geometry}”", geometry=self.geometry),
                expected=say("layer, bin or pile"),
                remedy=say("choose one of the three"),
            )
        _within(say("volume"), self.built_m3, 1e-5, 2000.0, "m3")
        if self.geometry == "layer":
            _within(say("depth"), self.depth_m, 0.002, 5.0, "m")
        if self.radius_m is not None:
            _within(say("radius"), self.radius_m, 0.02, 20.0, "m")
        for name in ("wall_open", "cover_open", "rain_share", "vent"):
            _within(name.replace("_", " "), getattr(self, name), 0.0, 1.0, "")
        for name in ("wall_r", "cover_r"):
            _within(name.replace("_", " "), getattr(self, name), 0.0, 100.0, "m2 K/W")
        if self.start_temp_c is not None:
            _within(say("start temperature"), self.start_temp_c, -5.0, 80.0, "°C")
        for day in self.turn_days:
            _within(say("day of turning"), day, 0.0, 3650.0, say("days from the start"))
        for day, kg in self.waterings:
            _within(say("day of watering"), day, 0.0, 3650.0, say("days from the start"))
            _within(say("water given"), kg, 0.0, 1e6, "kg")
        if self.feed is not None:
            _within(say("ash of the feed over that of the heap"), self.feed.ash_dm - self.stuff.ash_dm, -1e-9, 1e-9, "")
        for day, kg in self.feedings:
            _within(say("day of feeding"), day, 0.0, 3650.0, say("days from the start"))
            _within(say("stuff fed"), kg, 1e-6, 1e6, say("kg as received"))

    @property
    def built_m3(self) -> float:
        """Return the volume as built, m3."""
        return self.depth_m * self.area_m2 if self.geometry == "layer" else self.volume_m3

    @property
    def built_kg(self) -> float:
        """Return the mass as built, kg."""
        return self.built_m3 * self.stuff.bulk_density_kg_m3

    @property
    def fed(self) -> Stuff:
        """Return what its feedings are of."""
        return self.stuff if self.feed is None else self.feed

    @property
    def fed_kg(self) -> float:
        """Return the mass added after it was built, kg as received."""
        return sum(kg for _, kg in self.feedings)

    @property
    def bin_radius_m(self) -> float:
        """Return the radius of a bin, m; the height equals the width when none was given."""
        return self.radius_m if self.radius_m is not None else (self.volume_m3 / (2.0 * math.pi)) ** (1.0 / 3.0)


def _within(name: str, value: float, low: float, high: float, unit: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise InputError(
            say("{name} = {value:g}", name=name, value=value), expected=say("{low:g} to {high:g}", low=low, high=high) + (say(" {unit}", unit=unit) if unit else ""),
            remedy=say("correct the {name} of the heap or of its materials", name=name),
        )  # fmt: skip
