"""What a kilogram of material brings to a bed: pools that decay, nitrogen, nutrients, salts, acid or lime."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.bed.parameters import Parameters
from loamery.bed.release import Decay, decay_of, salts_of
from loamery.lab.composition import Composition
from loamery.reference import coefficient, table
from loamery.reference.lookup import figure
from loamery.uncertain import from_range
from loamery.units import atomic_weight, to_si

Array = NDArray[np.float64]
POOLS = 3
"""Fast, slow and resistant."""
CHARGES = {"Ca": 2, "Mg": 2, "K": 1, "Na": 1, "Cl": -1, "S": -2, "P": -1}
"""Charge of each element as plants hold it; what cations have over anions is the alkalinity of plant matter."""
COARSE = ("eggshell",)
FAST_N_POOR = ("coffee-spent", "coffee-unused", "coffee-chaff")
FAST_N_RICH = (
    "manure-cattle", "manure-sheep", "manure-horse", "manure-horse-straw", "manure-horse-shavings", "manure-alpaca",
    "manure-rabbit",
)  # fmt: skip
"""Dung of plant eaters: most of its nitrogen is bacteria and slime, most of its carbon is fibre that was not digested."""
NUTRIENTS = ("P", "K", "S", "Ca", "Mg", "Na", "Cl", "B", "Cu", "Zn", "Mn", "Fe", "Mo", "Ni", "Cr", "Cd", "Pb", "As", "Hg", "Se", "Co")  # fmt: skip


@dataclass(frozen=True, eq=False)
class Matter:
    """What a kilogram as received of one material holds; every array has shape (draws,) or (1,).

    Parameters
    ----------
    dry, carbon, organic_n, ammonium_n, nitrate_n : kg per kg.
    pools : shares of the carbon in the fast, slow and resistant pool, shape (3, draws).
    pool_n : shares of the organic nitrogen in them.
    rate_per_day : at 25 °C, shape (3, draws). lag_days : at 25 °C.
    elements : kg per kg by element, total. salts : soluble salts, kg per kg.
    alkalinity : of its organic anions, mol of charge per kg. lime : of its carbonate and ash, mol per kg.
    coarse : its lime dissolves as slowly as crushed shell. mineral : ash or shell, whose elements lie in its lime.
    ph : of the material itself. density_kg_m3 : as received. p_share : of P that crops can use in the first season.
    """

    name: str
    dry: Array
    carbon: Array
    organic_n: Array
    ammonium_n: Array
    nitrate_n: Array
    pools: Array
    pool_n: Array
    rate_per_day: Array
    lag_days: Array
    elements: Mapping[str, Array] = field(default_factory=dict)
    salts: Array = field(default_factory=lambda: np.zeros(1))
    alkalinity: Array = field(default_factory=lambda: np.zeros(1))
    lime: Array = field(default_factory=lambda: np.zeros(1))
    coarse: bool = False
    mineral: bool = False
    ph: Array = field(default_factory=lambda: np.full(1, 7.0))
    density_kg_m3: Array = field(default_factory=lambda: np.full(1, 500.0))
    p_share: float = 0.6
    sources: tuple[str, ...] = ()

    @property
    def c_to_n(self) -> Array:
        """Return the carbon to nitrogen ratio of the whole."""
        return self.carbon / np.maximum(self.organic_n + self.ammonium_n + self.nitrate_n, 1e-12)


class StuffLike(Protocol):
    """What a season's stuff tells of itself, per kilogram as it lies there."""

    @property
    def name(self) -> str:
        """Return what people call it."""
        ...

    @property
    def kind(self) -> str:
        """Return the slug of the reference material whose decay it follows."""
        ...

    @property
    def form(self) -> str:
        """Return raw, compost or castings."""
        ...

    @property
    def dry(self) -> Array:
        """Return dry matter."""
        ...

    @property
    def carbon(self) -> Array:
        """Return carbon."""
        ...

    @property
    def n_mineral(self) -> Array:
        """Return mineral nitrogen."""
        ...

    @property
    def n_organic(self) -> Array:
        """Return organic nitrogen."""
        ...

    @property
    def p(self) -> Array:
        """Return phosphorus."""
        ...

    @property
    def k(self) -> Array:
        """Return potassium."""
        ...

    @property
    def salts(self) -> Array:
        """Return soluble salts."""
        ...

    @property
    def density(self) -> Array:
        """Return kg per m3."""
        ...

    @property
    def trace(self) -> Mapping[str, Array]:
        """Return trace elements by name."""
        ...


def matter_of_stuff(stuff: StuffLike, numbers: Parameters, elements: Mapping[str, Array] | None = None) -> Matter:
    """Return a season's stuff as the bed model takes it.

    Parameters
    ----------
    numbers : draws of the model's coefficients; the stuff's own draws are used up to as many.
    elements : further elements, kg per kg as it lies there.

    Notes
    -----
    Mineral nitrogen of raw material is taken as ammonium, that of compost and castings as nitrate.
    """
    n = numbers.draws

    def cut(one: Array) -> Array:
        return np.array([float(np.median(one))]) if n == 1 else np.asarray(one)[:n]

    raw = stuff.form == "raw"
    mineral = cut(stuff.n_mineral)
    held = {"P": stuff.p, "K": stuff.k, **stuff.trace, **(elements or {})}
    return _matter(
        stuff.name, stuff.kind, numbers, cut(stuff.dry), cut(stuff.carbon), cut(stuff.n_organic),
        (mineral if raw else 0.0 * mineral, 0.0 * mineral if raw else mineral),
        {key: cut(one) for key, one in held.items()}, cut(stuff.salts), cut(stuff.density), None, None,
    )  # fmt: skip


def matter_of(composition: Composition, numbers: Parameters, name: str = "") -> Matter:
    """Return a raw material as the bed model takes it.

    Parameters
    ----------
    composition : of the material, with at least as many draws as `numbers`.
    """
    n = numbers.draws

    def draws(key: str) -> Array:
        return np.array([composition.median(key)]) if n == 1 else composition.draws(key)[:n]

    dry = 1.0 - draws("moisture")

    def held(key: str) -> Array:
        return np.minimum(draws(key), 1.0) * dry if key in composition else np.zeros_like(dry)

    ammonium, nitrate = held("NH4_N"), held("NO3_N")
    ec = draws("EC") if "EC" in composition else np.full_like(dry, _default_ec())
    return _matter(
        name or composition.material, composition.kind, numbers, dry, held("C"),
        np.maximum(held("N") - ammonium - nitrate, 0.0), (ammonium, nitrate),
        {key: held(key) for key in NUTRIENTS if key in composition}, salts_of(ec) * dry, draws("bulk_density"),
        draws("pH") if "pH" in composition else None, held("CCE") if "CCE" in composition else None,
    )  # fmt: skip


def carbon_of_kind(kind: str, numbers: Parameters) -> Matter:
    """Return a kilogram of carbon of a kind of material, without any nitrogen, each array of shape (numbers' draws,).

    Parameters
    ----------
    kind : slug of materials.csv, which says how it decays.
    """
    one, none = np.ones(numbers.draws), np.zeros(numbers.draws)
    return _matter(kind, kind, numbers, one, one, none, (none, none), {}, none, 500.0 * one, None, None)


def _default_ec() -> float:
    one = coefficient("material_ec_default")
    return to_si(one.value, one.unit)


def _matter(
    name: str, kind: str, numbers: Parameters, dry: Array, carbon: Array, organic_n: Array, mineral: tuple[Array, Array],
    elements: dict[str, Array], salts: Array, density: Array, ph: Array | None, cce: Array | None,
) -> Matter:  # fmt: skip
    decay = decay_of(kind)
    pools, rates = _pools(kind, decay, numbers)
    ratio = _fast_n(kind, numbers)
    lime = _lime(kind, cce, dry)
    return Matter(
        name=name,
        dry=dry,
        carbon=carbon,
        organic_n=organic_n,
        ammonium_n=mineral[0],
        nitrate_n=mineral[1],
        pools=pools,
        pool_n=_pool_nitrogen(pools, ratio),
        rate_per_day=rates,
        lag_days=np.full(numbers.draws, decay.lag_days),
        elements=elements,
        salts=salts,
        alkalinity=np.zeros_like(dry) if np.any(lime > 0) else excess_cations(elements, dry),
        lime=lime,
        coarse=kind in COARSE,
        mineral=_group(kind) == "mineral",
        ph=np.full_like(dry, _published_ph(kind)) if ph is None else ph,
        density_kg_m3=density,
        p_share=decay.p_share,
        sources=decay.sources,
    )


def decomposed_share(kind: str, draws: int, seed: int, decay: Decay | None = None) -> Array:
    """Return draws of the share of a material that is gone after a season; one draw is the best value itself.

    Parameters
    ----------
    decay : of the material, where it is at hand.
    """
    decay = decay or decay_of(kind)
    if draws == 1:
        return np.array([decay.decomposed_frac])
    share = from_range("logit", decay.decomposed_low, min(decay.decomposed_high, HIGHEST), decay.decomposed_frac)
    return np.asarray(share.draw(draws, seed, "bed decomposed", kind))


def _pools(kind: str, decay: Decay, numbers: Parameters) -> tuple[Array, Array]:
    """Return shares of carbon and rates of the three pools.

    Notes
    -----
    `decomposed_frac` is gone after a season of `bed_season_days`; it is parted into fast and slow as the same material is for
    a heap. The slow pool has the material's own rate, the fast one `bed_fast_ratio` times it, the rest the rate of resistant matter.
    """
    gone = decomposed_share(kind, numbers.draws, numbers.seed, decay)
    row = next((one for one in table("heap_pools") if one["slug"] == kind), None)
    quick = float(row["fast"]) / (float(row["fast"]) + float(row["slow"])) if row else 0.0
    slow = np.full(numbers.draws, decay.rate_per_day)
    rates = np.stack([slow * numbers["bed_fast_ratio"], slow, np.minimum(numbers["bed_residual_rate"], slow)])
    active = _active_share(gone, quick, rates)
    return np.stack([active * quick, active * (1.0 - quick), 1.0 - active]), rates


def _active_share(gone: Array, quick: float, rates: Array) -> Array:
    """Return the share in fast and slow pool with which a season leaves what is known to be left."""
    fast, slow, resistant = -np.expm1(-rates * coefficient("bed_season_days").value)
    active = quick * fast + (1.0 - quick) * slow
    return np.asarray(np.clip((gone - resistant) / np.maximum(active - resistant, TINY), 0.0, 1.0))


HIGHEST = 0.99
MOST_FAST_N = 0.9
TINY = 1e-9


def _fast_n(kind: str, numbers: Parameters) -> Array:
    """Return nitrogen per carbon in the fast pool of a kind, against the whole."""
    if kind in FAST_N_POOR:
        return numbers["bed_fast_n_coffee"]
    return numbers["bed_fast_n_manure"] if kind in FAST_N_RICH else np.ones(numbers.draws)


def _pool_nitrogen(pools: Array, fast_ratio: ArrayLike) -> Array:
    """Return shares of nitrogen in the pools: the fast pool has `fast_ratio` of the mean, the others share the rest."""
    fast = np.minimum(pools[0] * np.asarray(fast_ratio), MOST_FAST_N)
    rest = (1.0 - fast) / np.maximum(pools[1] + pools[2], 1e-12)
    return np.stack([fast, pools[1] * rest, pools[2] * rest])


def _lime(kind: str, cce: Array | None, dry: Array) -> Array:
    """Return the alkalinity of carbonate and ash, mol per kg as received; 2 mol for each mol of calcium carbonate."""
    if (
        cce is None
        and _group(kind) in ("mineral", "other")
        and (found := figure("material_values", kind, "CCE")) is not None
    ):
        cce = to_si(found.value, found.unit) * dry
    if cce is None:
        return np.zeros_like(dry)
    return cce / coefficient("caco3_per_mol_acid").value


def _group(kind: str) -> str:
    return next(row["group"] for row in table("materials") if row["slug"] == kind)


def excess_cations(elements: Mapping[str, Array], like: Array) -> Array:
    """Return the alkalinity of plant matter: cations over anions, mol of charge per kg.

    Parameters
    ----------
    elements : kg per kg. like : an array of the shape wanted.

    Source
    ------
    Ca + Mg + K + Na - Cl - S - P (Naramabuye & Haynes 2006: ash alkalinity predicts the liming effect best).
    """
    total = np.zeros_like(like)
    for key, charge in CHARGES.items():
        if key in elements:
            total = total + charge * elements[key] / to_si(atomic_weight(key), "g")
    return total


def _published_ph(kind: str) -> float:
    found = figure("material_values", kind, "pH")
    return found.value if found else 7.0
