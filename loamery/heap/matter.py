"""What a heap is built of, from the compositions of its materials: draws and the middle of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.heap.parameters import heap_parameters
from loamery.heap.spec import Stuff
from loamery.lab.composition import Composition
from loamery.reference import coefficient, table
from loamery.reference.lookup import figure
from loamery.say import say
from loamery.uncertain import from_range
from loamery.units import to_si

Array = NDArray[np.float64]
EDGE = 0.005
"""A share of nothing or of everything has no place on the logit scale."""
CARBON_ENDS = (0.31, 0.77)
"""Carbon per organic matter that the model can stand, as `Stuff` checks it."""
MOISTURE_ENDS = (0.02, 0.94)
FIELD_CAPACITY_MOST = 0.95
LOOSEST_KG_M3 = 20.0
"""As `Stuff` checks it: the tail of a wide range of bulk density is no heap."""


@dataclass(frozen=True)
class Part:
    """One material of a heap or layer.

    Parameters
    ----------
    composition : what it is made of.
    kg : as received.
    """

    composition: Composition
    kg: float


@dataclass(frozen=True, eq=False)
class _Side:
    """Draws of one material, each of shape (n,); shares of dry matter unless named otherwise."""

    kg: float
    moisture: Array
    c: Array
    n: Array
    ash: Array
    density: Array
    fines: Array
    fast: Array
    slow_of_rest: float
    coarse_m: Array
    ph: Array
    ammonium: Array
    holds: Array

    @property
    def dry_kg(self) -> Array:
        """Return the dry matter, kg."""
        return self.kg * (1.0 - self.moisture)


def stuff_draws(
    parts: Sequence[Part], n: int, seed: int = 1, *, water_kg: float = 0.0, compost_share: float = 0.0
) -> list[Stuff]:
    """Return seeded draws of what a mix of materials is.

    Parameters
    ----------
    parts : the materials with their masses.
    water_kg : added when it is built.
    compost_share : of the dry matter, finished compost that is mixed in; it is one of the parts, or is counted with them.

    Raises
    ------
    InputError : nothing to build of, an impossible mass, or a material without moisture, nitrogen or carbon.
    """
    _refuse(parts, n, water_kg)
    rows = _mix([_side(part, n, seed) for part in parts], water_kg, _packing(parts, n, seed))
    return [_stuff({key: float(one[i]) for key, one in rows.items()}, compost_share) for i in range(n)]


def middle(parts: Sequence[Part], *, water_kg: float = 0.0, compost_share: float = 0.0) -> Stuff:
    """Return what a mix is at the medians of its materials; see `stuff_draws`."""
    _refuse(parts, 1, water_kg)
    sides = [_median(_side(part, part.composition.n, 1)) for part in parts]
    rows = _mix(sides, water_kg, np.array([coefficient("heap_packing").value if _mixed(parts) else 1.0]))
    return _stuff({key: float(one[0]) for key, one in rows.items()}, compost_share)


def salt_of(parts: Sequence[Part]) -> Array | None:
    """Return draws of the conductivity of a mix by dry matter, S/m; None where one material's is not known."""
    if any("EC" not in part.composition for part in parts):
        return None
    dry = [part.kg * (1.0 - part.composition.draws("moisture")) for part in parts]
    salt = sum(one * part.composition.draws("EC") for one, part in zip(dry, parts, strict=True))
    return np.asarray(salt / sum(dry))


def fines_of(parts: Sequence[Part]) -> float:
    """Return the share of the dry matter of a mix that is finer than 2 mm, at the medians."""
    sides = [_median(_side(part, part.composition.n, 1)) for part in parts]
    dry = [float(one.dry_kg[0]) for one in sides]
    return sum(kg * float(one.fines[0]) for kg, one in zip(dry, sides, strict=True)) / sum(dry)


def litre_weight(composition: Composition) -> float:
    """Return the median bulk density of a material as received, kg/m3.

    Raises
    ------
    InputError : it is not known.
    """
    return float(np.median(_need(composition, "bulk_density", "bulk density")))


def _refuse(parts: Sequence[Part], n: int, water_kg: float) -> None:
    bad = next((one for one in parts if not (np.isfinite(one.kg) and one.kg >= 0.0)), None)
    if bad is not None or sum(one.kg for one in parts) <= 0.0:
        raise InputError(
            say("{kg:g} kg of {material}", kg=bad.kg, material=bad.composition.material)
            if bad
            else say("nothing to build of"),
            expected=say("materials with masses above zero"),
            remedy=say("name the materials with their amounts"),
        )
    if not (np.isfinite(water_kg) and water_kg >= 0.0):
        raise InputError(
            say("{water_kg:g} kg of water", water_kg=water_kg),
            expected=say("zero or more"),
            remedy=say("correct the water added"),
        )
    if not 1 <= n <= 100_000:
        raise InputError(
            say("{n} draws", n=n), expected=say("1 to 100 000"), remedy=say("ask for a few dozen to a few hundred")
        )


def _need(composition: Composition, key: str, word: str) -> Array:
    if key not in composition:
        raise InputError(
            say("{material}: no {word}", material=composition.material, word=word),
            expected=say("moisture, nitrogen, bulk density, and carbon or organic matter of every material"),
            remedy=say("add a lab report, or choose the nearest material of the reference list"),
        )
    return composition.draws(key)


def _side(part: Part, n: int, seed: int) -> _Side:
    own, name, kind = part.composition, part.composition.material, part.composition.kind

    def cut(values: Array) -> Array:
        return np.resize(np.asarray(values, dtype=np.float64), n)

    ash = cut(own.draws("ash") if "ash" in own else 1.0 - _need(own, "organic_matter", "organic matter or ash"))
    ash = np.clip(ash, 0.0, 0.94)
    carbon = cut(own.draws("C")) if "C" in own else (1.0 - ash) * coefficient("carbon_in_organic_matter").value
    pools = _pools(kind)
    fast = from_range("logit", _inside(pools["fast_low"]), _inside(pools["fast_high"]), _inside(pools["fast"]))
    nitrogen = cut(_need(own, "N", "nitrogen"))
    ammonium = cut(own.draws("NH4_N")) if "NH4_N" in own else coefficient("heap_ammonium_share").value * nitrogen
    return _Side(
        kg=part.kg,
        moisture=np.clip(cut(_need(own, "moisture", "moisture")), *MOISTURE_ENDS),
        c=carbon,
        n=nitrogen,
        ash=ash,
        density=cut(_need(own, "bulk_density", "bulk density")),
        fines=_published(kind, "fines_share", "logit", n, seed, name),
        fast=fast.draw(n, seed, name, "fast"),
        slow_of_rest=float(pools["slow"]) / (float(pools["slow"]) + float(pools["recalcitrant"])),
        coarse_m=_coarse(kind, n, seed, name),
        ph=cut(own.draws("pH")) if "pH" in own else np.full(n, coefficient("heap_start_ph").value),
        ammonium=np.minimum(ammonium, 0.9 * nitrogen),
        holds=_water_held(kind, n, seed, name),
    )


def _median(side: _Side) -> _Side:
    changed = {
        key: np.median(value, keepdims=True) for key, value in vars(side).items() if isinstance(value, np.ndarray)
    }
    return _Side(**{**vars(side), **changed})


def _inside(cell: str | float) -> float:
    return min(max(float(cell), EDGE), 1.0 - EDGE)


def _pools(kind: str) -> dict[str, str]:
    rows = {row["slug"]: row for row in table("heap_pools")}
    return rows.get(kind, rows["general"])


def _water_held(kind: str, n: int, seed: int, name: str) -> Array:
    """Return draws of the water a material holds against gravity, kg per kg dry."""
    rows = {row["slug"]: row for row in table("heap_water_held")}
    row = rows.get(kind, rows["general"])
    spread = from_range("lognormal", float(row["low"]), float(row["high"]), float(row["value"]))
    return spread.draw(n, seed, name, "water_held")


def _published(kind: str, quantity: str, scale: str, n: int, seed: int, name: str) -> Array:
    found = figure("material_values", kind, quantity)
    if found is None:
        return np.full(n, 0.0)
    low, high, best = (_inside(one) for one in (found.low, found.high, found.value))
    return from_range(scale, low, high, min(max(best, low), high)).draw(n, seed, name, quantity)


def _coarse(kind: str, n: int, seed: int, name: str) -> Array:
    found = figure("material_values", kind, "particle_size")
    if found is not None and 0.0 < found.low < found.high:
        low, high, best = (to_si(one, found.unit) for one in (found.low, found.high, found.value))
    else:
        one = coefficient("particle_coarse")
        low, high, best = one.low, one.high, one.value
    return from_range("lognormal", low, high, min(max(best, low), high)).draw(n, seed, name, "particle_size")


def _mixed(parts: Sequence[Part]) -> bool:
    return sum(one.kg > 0.0 for one in parts) > 1


def _packing(parts: Sequence[Part], n: int, seed: int) -> Array:
    one = coefficient("heap_packing")
    drawn = from_range("lognormal", one.low, one.high, one.value).draw(n, seed, "heap", "packing")
    return np.clip(drawn, one.low, 1.0) if _mixed(parts) else np.ones(n)


def _mix(sides: Sequence[_Side], water_kg: float, packing: Array) -> dict[str, Array]:
    """Return the rows of a mix: totals over totals, sizes by specific surface."""
    dry = np.stack([one.dry_kg for one in sides])
    whole = dry.sum(axis=0)

    def mean(get: Callable[[_Side], Array]) -> Array:
        return np.asarray(
            (dry * np.stack([np.broadcast_to(get(one), whole.shape) for one in sides])).sum(axis=0) / whole
        )

    organic = np.stack([one.dry_kg * (1.0 - one.ash) for one in sides])
    fast = (organic * np.stack([one.fast for one in sides])).sum(axis=0) / organic.sum(axis=0)
    slow = (organic * np.stack([(1.0 - one.fast) * one.slow_of_rest for one in sides])).sum(axis=0) / organic.sum(
        axis=0
    )
    wet = sum(one.kg for one in sides) + water_kg
    volume = sum(one.kg / one.density for one in sides)
    nitrogen = mean(lambda one: one.n)
    return {
        "moisture": np.clip(1.0 - whole / wet, *MOISTURE_ENDS),
        "density": np.asarray(wet / (volume * packing)),
        "c": mean(lambda one: one.c), "n": nitrogen, "ash": mean(lambda one: one.ash),
        "fast": fast, "slow": slow,
        # pieces resist air and water by their surface: sizes join like resistances side by side (Sauter mean)
        "size": 1.0 / mean(_surface),
        # each material holds its own water: shares of the dry matter add up
        "holds": mean(lambda one: one.holds),
        "ph": mean(lambda one: one.ph), "ammonium": mean(lambda one: one.ammonium) / nitrogen,
    }  # fmt: skip


def _surface(side: _Side) -> Array:
    return side.fines / coefficient("particle_fine").value + (1.0 - side.fines) / side.coarse_m


def _stuff(row: dict[str, float], compost_share: float) -> Stuff:
    organic = 1.0 - row["ash"]
    carbon = min(max(row["c"] / organic, CARBON_ENDS[0]), CARBON_ENDS[1]) * organic
    return Stuff(
        moisture=row["moisture"],
        bulk_density_kg_m3=min(max(row["density"], LOOSEST_KG_M3), fullest_kg_m3(row["moisture"], row["ash"])),
        c_dm=carbon,
        n_dm=min(max(row["n"], 1e-4), 0.2),
        ash_dm=row["ash"],
        fast=row["fast"],
        slow=row["slow"],
        recalcitrant=1.0 - row["fast"] - row["slow"],
        particle_m=min(max(row["size"], 5e-5), 0.2),
        ph=min(max(row["ph"], 2.5), 11.5),
        ammonium_share=min(max(row["ammonium"], 0.0), 0.9),
        compost_share=compost_share,
        field_capacity=min(row["holds"] / (1.0 + row["holds"]), FIELD_CAPACITY_MOST),
    )


def fullest_kg_m3(moisture: float, ash_dm: float) -> float:
    """Return the bulk density at which solids, water and the last air fill the space, kg/m3."""
    p = {key: heap_parameters()[key].value for key in ("rho_organic", "rho_ash", "rho_water", "air_space_floor")}
    solid = (1.0 - moisture) * ((1.0 - ash_dm) / p["rho_organic"] + ash_dm / p["rho_ash"])
    return (1.0 - p["air_space_floor"]) / (solid + moisture / p["rho_water"])
