"""Anything that can be spread on a bed: a raw material, a finished compost, castings; per kilogram as it lies there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loamery.bed.release import Decay, decay_of, salts_of
from loamery.garden.model import Material, Use
from loamery.heap.published import finished_share
from loamery.lab.composition import Composition
from loamery.names import trace_elements
from loamery.reference import coefficient, table
from loamery.reference.lookup import figure
from loamery.units import to_si
from loamery.worms.published import castings_share, nitrogen_lost_share

Array = NDArray[np.float64]
RAW, COMPOST, CASTINGS = "raw", "compost", "castings"


@dataclass(frozen=True)
class Stuff:
    """What a kilogram as received holds; every array has shape (draws,).

    Parameters
    ----------
    id, name : of the material, or of the batch recipe or worm bed it comes from.
    form : ``raw``, ``compost`` or ``castings``.
    kind : slug of the reference material whose decay it follows.
    group : group of that reference material.
    uses : where it may go.
    dry : kg dry matter per kg; and so on for carbon, mineral and organic nitrogen, P, K, soluble salts.
    trace : kg per kg by element, only where measured or published.
    density : kg/m3 as received.
    storage_weeks : how long it keeps.
    mulch_depth_m : deepest layer. mulch_fault : what a deeper one does by the heap model (``airless``, ``heats``, ``seals``);
        empty where the depth is the published one.
    """

    id: str
    name: str
    form: str
    kind: str
    group: str
    uses: tuple[Use, ...]
    dry: Array
    carbon: Array
    n_mineral: Array
    n_organic: Array
    p: Array
    k: Array
    salts: Array
    density: Array
    storage_weeks: float
    mulch_depth_m: float
    decay: Decay
    trace: Mapping[str, Array] = field(default_factory=dict)
    made_of: tuple[tuple[str, float], ...] = ()
    mulch_fault: str = ""

    @property
    def nitrogen(self) -> Array:
        """Return total nitrogen, kg per kg as received."""
        return self.n_mineral + self.n_organic

    @property
    def c_to_n(self) -> Array:
        """Return the carbon to nitrogen ratio."""
        return self.carbon / np.maximum(self.nitrogen, 1e-12)

    @property
    def is_raw_manure(self) -> bool:
        """Tell whether hygiene intervals of raw manure apply."""
        return self.form == RAW and self.group == "manure"


def group_of(kind: str) -> str:
    """Return the group of a reference material: green, brown, manure, meal, mineral, compost or other."""
    return next(row["group"] for row in table("materials") if row["slug"] == kind)


def raw_stuff(material: Material, composition: Composition) -> Stuff:
    """Return a raw material as it can be spread.

    Parameters
    ----------
    composition : of this material, with draws.
    """
    dry = 1.0 - composition.draws("moisture")

    def per_kg(key: str) -> Array:
        # a log-normal's far tail may pass the whole; no material holds more of anything than its dry matter
        return np.minimum(composition.draws(key), 1.0) * dry if key in composition else np.zeros_like(dry)

    n_mineral = per_kg("NH4_N") + per_kg("NO3_N")
    nitrogen = np.maximum(per_kg("N"), n_mineral)
    ec_si = composition.draws("EC") if "EC" in composition else np.full_like(dry, _ec_default(group_of(material.kind)))
    life = figure("material_values", material.kind, "storage_life")
    return Stuff(
        id=material.id,
        name=material.name,
        form=RAW,
        kind=material.kind,
        group=group_of(material.kind),
        uses=_allowed_uses(material),
        dry=dry,
        carbon=per_kg("C"),
        n_mineral=n_mineral,
        n_organic=nitrogen - n_mineral,
        p=per_kg("P"),
        k=per_kg("K"),
        salts=salts_of(ec_si) * dry,
        density=composition.draws("bulk_density"),
        storage_weeks=material.storage_weeks if material.storage_weeks is not None else life.value if life else 1.0,
        mulch_depth_m=published_depth_m(material.kind),
        decay=decay_of(material.kind),
        trace={key: per_kg(key) for key in trace_elements() if key in composition},
    )


def published_depth_m(kind: str) -> float:
    """Return the deepest mulch published for a kind of material, m; 0 where none is laid of it."""
    depth = figure("material_values", kind, "mulch_depth_max")
    return to_si(depth.value, depth.unit) if depth else coefficient("mulch_depth_other").value


def _ec_default(group: str) -> float:
    one = coefficient("material_ec_default_brown" if group == "brown" else "material_ec_default")
    return to_si(one.value, one.unit)


def _allowed_uses(material: Material) -> tuple[Use, ...]:
    """Return the uses left after the safe rules: only stable or mineral things may be dug in."""
    stable = group_of(material.kind) in ("compost", "meal", "mineral")
    return tuple(use for use in material.uses if use != "dig_in" or stable)


def blended(parts: Sequence[tuple[Stuff, float]]) -> dict[str, Array]:
    """Return the totals of a blend per kilogram of ingredients, water not counted.

    Parameters
    ----------
    parts : stuff and its share of the ingredients' mass; shares sum to 1.
    """
    names = ("dry", "carbon", "n_mineral", "n_organic", "p", "k", "salts")
    totals = {name: sum(share * getattr(one, name) for one, share in parts) for name in names}
    elements = {key for one, _ in parts for key in one.trace}
    for key in elements:
        totals[f"trace {key}"] = sum(share * one.trace.get(key, np.zeros_like(one.dry)) for one, share in parts)
    return {name: np.asarray(value) for name, value in totals.items()}


def compost_stuff(
    recipe_id: str, name: str, parts: Sequence[tuple[Stuff, float]], lost: Mapping[str, float] | None = None
) -> tuple[Stuff, float]:
    """Return the finished compost of a recipe, and the kilograms of it that one kilogram of ingredients gives.

    Parameters
    ----------
    parts : stuff and its share of the ingredients' mass; shares sum to 1.
    lost : share lost of ``dm``, ``C``, ``N``, ``P``, ``K``, in place of the published ones.

    Notes
    -----
    Its nitrogen counts as organic, whatever the ingredients held.

    Source
    ------
    Published losses of dry matter, C, N, P and K in coefficients.csv (heap_*_loss).
    """
    believed = lost or {}
    kept = {key: 1.0 - believed.get(key, finished_share(key).value) for key in ("dm", "C", "N", "P", "K")}
    total = blended(parts)
    total["n_organic"] = total["n_organic"] + total["n_mineral"]
    total["n_mineral"] = np.zeros_like(total["n_mineral"])
    stuff, mass = _product(recipe_id, name, COMPOST, total, kept, parts)
    return stuff, mass


def castings_stuff(feeds: Sequence[tuple[Stuff, float]]) -> Stuff:
    """Return the castings of a worm bed that is fed with a mixture.

    Parameters
    ----------
    feeds : each feed and its share of the mass fed; shares sum to 1.

    Source
    ------
    Published yield and losses of worm beds in coefficients.csv.
    """
    kept = {"dm": castings_share(), "C": castings_share(), "N": 1.0 - nitrogen_lost_share(), "P": 1.0, "K": 1.0}
    return _product("castings", "Worm castings", CASTINGS, blended(feeds), kept, feeds)[0]


def _product(
    name_id: str,
    name: str,
    form: str,
    total: Mapping[str, Array],
    kept: Mapping[str, float],
    parts: Sequence[tuple[Stuff, float]],
) -> tuple[Stuff, float]:
    """Return what is left of a blend per kilogram of moist product, and the kilograms of product per kilogram of blend.

    Parameters
    ----------
    kept : share of dry matter (``dm``), C, N, P and K that stays; salts go with K, trace elements stay whole.

    Notes
    -----
    A kilogram of product is a share of the batch: the batch weighs what it does in the middle, and in every draw all that stays of its
    N, P and K is in it. So nothing appears or is lost when amounts are planned in kilograms.
    """
    kind, storage = _PRODUCTS[form]
    mass = float(np.median(total["dry"])) * kept["dm"] / (1.0 - coefficient("heap_finished_moisture").value)
    stuff = Stuff(
        id=name_id,
        name=name,
        form=form,
        kind=kind,
        group="compost",
        uses=("dig_in", "mulch"),
        dry=np.minimum(total["dry"] * kept["dm"] / mass, 1.0),
        carbon=total["carbon"] * kept["C"] / mass,
        n_mineral=total["n_mineral"] * kept["N"] / mass,
        n_organic=total["n_organic"] * kept["N"] / mass,
        p=total["p"] * kept["P"] / mass,
        k=total["k"] * kept["K"] / mass,
        salts=total["salts"] * kept["K"] / mass,
        density=np.full_like(total["dry"], coefficient("compost_bulk_density").value),
        storage_weeks=coefficient(storage).value,
        mulch_depth_m=coefficient("mulch_depth_compost").value,
        decay=decay_of(kind),
        trace={key.removeprefix("trace "): value / mass for key, value in total.items() if key.startswith("trace ")},
        made_of=tuple((one.id, share) for one, share in parts),
    )
    return stuff, mass


_PRODUCTS = {
    COMPOST: ("compost-finished", "storage_weeks_compost"),
    CASTINGS: ("worm-castings", "storage_weeks_castings"),
}
"""Reference material whose decay a product follows, and the coefficient of how long it keeps."""


def castings_yield_dry() -> float:
    """Return the kilograms of moist castings from a kilogram of dry feed."""
    return castings_share() / (1.0 - coefficient("heap_finished_moisture").value)
