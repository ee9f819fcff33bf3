"""The soil of a bed as the model takes it: texture, water it can hold, organic matter, reaction, buffer, salt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.bed.release import salt_rise
from loamery.bed.soil import SATURATED, SoilTest, soil_om_default, table_key
from loamery.errors import InputError
from loamery.garden.model import Bed
from loamery.reference import coefficient
from loamery.say import say
from loamery.units import to_si

Array = NDArray[np.float64]
PER_CENT = 0.01
BOUNDS = {
    "depth_m": (0.02, 1.5, "m"),
    "root_depth_m": (0.05, 2.0, "m"),
    "bulk_density_kg_m3": (100.0, 2000.0, "kg/m3"),
    "field_capacity": (0.03, 0.8, "by volume"),
    "wilting_point": (0.0, 0.6, "by volume"),
    "clay_frac": (0.0, 1.0, "kg/kg"),
    "organic_matter_frac": (0.0, 1.0, "kg/kg"),
    "ph": (2.5, 11.0, "pH"),
    "ec_si": (0.0, 10.0, "S/m"),
    "ammonium_kg_m2": (0.0, 0.2, "kg/m2"),
    "nitrate_kg_m2": (0.0, 0.2, "kg/m2"),
}
"""What a soil can be; outside a value was misread."""


@dataclass(frozen=True, eq=False)
class Place:
    """The soil of one or several beds; every array has shape (beds, 1), or (beds, draws) where nobody tested it.

    Parameters
    ----------
    depth_m : worked and sampled. root_depth_m : the zone whose water and nitrate roots reach.
    field_capacity, wilting_point : water by volume. clay_frac, organic_matter_frac : kg per kg dry soil.
    ph : of the soil. ec_si : of the saturated paste, S/m.
    ammonium_kg_m2, nitrate_kg_m2 : nitrogen of the root zone at the start.
    """

    depth_m: Array
    root_depth_m: Array
    bulk_density_kg_m3: Array
    field_capacity: Array
    wilting_point: Array
    clay_frac: Array
    organic_matter_frac: Array
    ph: Array
    ec_si: Array
    ammonium_kg_m2: Array
    nitrate_kg_m2: Array

    def __post_init__(self) -> None:
        shape = np.broadcast_shapes(*(np.shape(getattr(self, name)) for name in BOUNDS))
        beds = shape[0] if shape else 1
        for name, (low, high, unit) in BOUNDS.items():
            value = np.asarray(getattr(self, name), dtype=np.float64)
            value = value if value.ndim == 2 else value.reshape(-1, 1)
            if not np.all(np.isfinite(value)) or np.any((value < low) | (value > high)):
                raise InputError(
                    say("{replace} {ravel:g}", replace=name.replace('_', ' '), ravel=float(np.ravel(value)[0])), expected=say("{low:g} to {high:g} {unit}", low=low, high=high, unit=unit),
                    remedy=say("correct the bed or its soil test"),
                )  # fmt: skip
            object.__setattr__(self, name, np.broadcast_to(value, (beds, value.shape[1])))
        if np.any(self.wilting_point >= self.field_capacity):
            raise InputError(
                say("wilting point at or above field capacity"),
                expected=say("below it"),
                remedy=say("check the texture"),
            )

    @property
    def beds(self) -> int:
        """Return how many beds there are."""
        return int(self.depth_m.shape[0])

    @property
    def soil_kg_m2(self) -> Array:
        """Return the dry soil that is worked, kg per m2."""
        return self.depth_m * self.bulk_density_kg_m3

    @property
    def carbon_frac(self) -> Array:
        """Return the organic carbon of the soil, kg/kg."""
        return self.organic_matter_frac * coefficient("carbon_in_organic_matter").value

    @property
    def available_mm(self) -> Array:
        """Return the water the root zone can give in all, mm (FAO-56, Eq. 82)."""
        return 1000.0 * (self.field_capacity - self.wilting_point) * self.root_depth_m

    @property
    def held_mm(self) -> Array:
        """Return the water of the root zone at field capacity, mm."""
        return 1000.0 * self.field_capacity * self.root_depth_m

    @property
    def porosity(self) -> Array:
        """Return the pore space by volume."""
        return np.maximum(
            1.0 - self.bulk_density_kg_m3 / coefficient("bed_particle_density").value, self.field_capacity + 0.02
        )

    @property
    def salt_to_ec(self) -> Array:
        """Return what a kilogram of soluble salts per m2 adds to the conductivity of the paste, S/m (Handbook 60)."""
        usual = salt_rise(1.0, 1.0, 1.0) * coefficient("saturation_water").value
        return np.asarray(usual / (self.saturation_l_kg * self.soil_kg_m2))

    @property
    def saturation_l_kg(self) -> Array:
        """Return the water of a saturated paste, L per kg, between that of sand and of clay."""
        sand, clay = coefficient("bed_sat_sand").value, coefficient("bed_sat_clay").value
        full = to_si(coefficient("soil_clay_clay").value, "%")
        return np.asarray(sand + (clay - sand) * np.minimum(self.clay_frac / full, 1.0))


def textures() -> tuple[str, ...]:
    """Return the soil textures that have figures."""
    return ("sand", "loamy sand", "sandy loam", "loam", "silt loam", "clay loam", "clay")


def place_of(bed: Bed, test: SoilTest, root_depth_m: float | None = None) -> Place:
    """Return the soil of a bed from what is known of it, ordinary values where nothing is.

    Parameters
    ----------
    test : its soil test, empty when untested.
    root_depth_m : of its crops; coefficient ``bed_root_zone`` when None.

    Raises
    ------
    InputError : a value no soil can have.
    """
    figures = _texture(bed.texture)
    matter = _tested(test, "organic_matter")
    if matter is None and (carbon := _tested(test, "C")) is not None:
        matter = carbon / coefficient("carbon_in_organic_matter").value
    clay, ph = _tested(test, "clay"), _tested(test, "pH")
    ammonium, nitrate = _mineral_n(bed, test)
    return Place(
        depth_m=_one(bed.depth_m),
        root_depth_m=_one(max(bed.depth_m, root_depth_m or coefficient("bed_root_zone").value)),
        bulk_density_kg_m3=_one(bed.bulk_density_kg_m3),
        field_capacity=_one(figures["fc"]),
        wilting_point=_one(figures["wp"]),
        clay_frac=_one(figures["clay"] if clay is None else clay),
        organic_matter_frac=_one(soil_om_default() if matter is None else matter),
        ph=_one(UNTESTED_PH if ph is None else ph),
        ec_si=_one(_saturated(test)),
        ammonium_kg_m2=_one(ammonium),
        nitrate_kg_m2=_one(nitrate),
    )


UNTESTED_PH = 6.5
"""Reaction a bed is taken to have when nobody tested it; always said aloud."""


def _one(value: float) -> Array:
    return np.array([[value]])


def _texture(texture: str) -> dict[str, float]:
    key = texture.replace(" ", "_")
    return {
        "fc": coefficient(f"soil_fc_{key}").value,
        "wp": coefficient(f"soil_wp_{key}").value,
        "clay": to_si(coefficient(f"soil_clay_{key}").value, "%"),
    }


def _tested(test: SoilTest, key: str) -> float | None:
    return test.value(key)


def _saturated(test: SoilTest) -> float:
    found = test.values.get("EC")
    if found is None or found.value is None or table_key("EC", found.method) != SATURATED:
        return 0.0
    return found.value


def _mineral_n(bed: Bed, test: SoilTest) -> tuple[float, float]:
    """Return ammonium and nitrate of the sampled layer, kg N per m2; an untested bed starts with an ordinary amount."""
    soil = bed.depth_m * bed.bulk_density_kg_m3
    ammonium, nitrate = test.value("NH4_N"), test.value("NO3_N")
    usual, share = coefficient("bed_mineral_n_start"), coefficient("bed_ammonium_share").value
    usual_frac = to_si(usual.value, usual.unit)
    if ammonium is None and nitrate is None:
        return share * usual_frac * soil, (1.0 - share) * usual_frac * soil
    return (ammonium or 0.0) * soil, (nitrate or 0.0) * soil


def places_of(places: Sequence[Place]) -> Place:
    """Return several beds' soils as one, stacked along the axis of beds."""
    return Place(**{name: np.concatenate([getattr(one, name) for one in places]) for name in BOUNDS})


def buffer_capacity(carbon_frac: ArrayLike, clay_frac: ArrayLike, scale: ArrayLike | None = None) -> Array:
    """Return how much acid a soil takes up for each unit of pH.

    Parameters
    ----------
    carbon_frac, clay_frac : organic carbon and clay, kg per kg dry soil.
    scale : factor on the mean of the two published functions; coefficient ``phbc_scale`` when None.

    Returns
    -------
    mol of charge per kg soil and pH unit, broadcast shape, between coefficients ``phbc_min`` and ``phbc_max``.

    Source
    ------
    Mean of Aitken et al. 1990 and Helling et al. 1964 (coefficients recalled), scaled to meet lime charts.
    """
    oc, clay = (np.asarray(one, dtype=np.float64) / PER_CENT for one in (carbon_frac, clay_frac))
    first = coefficient("phbc_oc_1").value * oc + coefficient("phbc_clay_1").value * clay
    second = coefficient("phbc_oc_2").value * oc + coefficient("phbc_clay_2").value * clay
    factor = coefficient("phbc_scale").value if scale is None else scale
    found = 0.5 * (first + second) * np.asarray(factor, dtype=np.float64)
    low, high = coefficient("phbc_min").value, coefficient("phbc_max").value
    return np.asarray(np.clip(found, low, high) * PER_CENT)
