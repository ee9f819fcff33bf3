"""An ingredient: what one material of a blend is made of, how much of it there is, and what it costs to use."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.blend.mix import condensed_m3_per_kg, dry_share
from loamery.errors import InputError
from loamery.lab.composition import Composition
from loamery.reference import coefficient, table
from loamery.say import say
from loamery.uncertain import from_range

Array = NDArray[np.float64]
_SHARES = ("moisture", "c_dm", "n_dm", "om_dm", "ash_dm", "fines")
_QUANTITIES = (*_SHARES, "bulk_density", "ph", "ec")
WORDS = {
    "moisture": say("moisture"), "c_dm": say("carbon"), "n_dm": say("nitrogen"), "om_dm": say("organic matter"), "ash_dm": say("ash"),
    "fines": say("share of fines"), "bulk_density": say("bulk density"), "ph": "pH", "ec": say("electrical conductivity"),
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Ingredient:
    """One material that may go into a blend.

    Parameters
    ----------
    name : as people call it; unique within a blend.
    moisture : kg water per kg as received; a number or draws of shape (n,), as all quantities here.
    c_dm, n_dm : carbon and nitrogen, kg/kg dry matter.
    om_dm, ash_dm : organic matter and ash, kg/kg dry matter; one follows from the other.
    bulk_density : kg/m3 as received.
    fines : share of the dry matter finer than 2 mm.
    ph, ec : pH and electrical conductivity (S/m); advisory only.
    stock_kg : how much there is; ``inf`` when there is no end of it.
    least_kg : how much must be used.
    vessel_l : what it is carried in, litres; the blend's own bucket when None.
    cost_per_kg : price of bought-in material, any currency.
    minutes_per_kg : labour to fetch and handle it.

    Raises
    ------
    InputError : a figure is impossible.
    """

    name: str
    moisture: ArrayLike
    c_dm: ArrayLike
    n_dm: ArrayLike
    om_dm: ArrayLike | None = None
    ash_dm: ArrayLike | None = None
    bulk_density: ArrayLike | None = None
    fines: ArrayLike | None = None
    ph: ArrayLike | None = None
    ec: ArrayLike | None = None
    stock_kg: float = math.inf
    least_kg: float = 0.0
    vessel_l: float | None = None
    cost_per_kg: float = 0.0
    minutes_per_kg: float = 0.0

    def __post_init__(self) -> None:
        for key in _QUANTITIES:
            if getattr(self, key) is not None:
                object.__setattr__(self, key, np.atleast_1d(np.asarray(getattr(self, key), dtype=np.float64)))
        for missing, known in (("ash_dm", "om_dm"), ("om_dm", "ash_dm")):
            if getattr(self, missing) is None and getattr(self, known) is not None:
                object.__setattr__(self, missing, 1.0 - getattr(self, known))
        for key in _SHARES:
            self._refuse_outside(key, 0.0, 1.0)
        self._refuse_outside("bulk_density", 0.0, math.inf)
        self._refuse_outside("ec", 0.0, math.inf)
        self._refuse_outside("ph", 0.0, 14.0)
        self._refuse_amounts()

    def _refuse_outside(self, key: str, low: float, high: float) -> None:
        values = getattr(self, key)
        if values is None:
            return
        wrong = ~np.isfinite(values) | (values < low) | (values > high)
        # nothing dry is left at moisture 1, and a volume cannot be had from a density of 0
        wrong |= (key == "moisture") & (values >= 1.0) | (key == "bulk_density") & (values <= 0.0)
        if values.ndim != 1 or np.any(wrong):
            shown = (
                values.ravel()[np.argmax(wrong.ravel())]
                if np.any(wrong)
                else say("an array of shape {shape}", shape=values.shape)
            )
            end = (
                say("above 0")
                if key in ("bulk_density", "ec")
                else say("between {low:g} and {high:g}", low=low, high=high)
            )
            end += say(" and below 1") if key == "moisture" else ""
            raise InputError(
                say("{name}: {WORDS} {shown}", name=self.name, WORDS=WORDS[key], shown=shown),
                expected=say("{WORDS} {end}", WORDS=WORDS[key], end=end),
                remedy=say("correct the figure"),
            )

    def _refuse_amounts(self) -> None:
        if not self.name.strip():
            raise InputError(say("an ingredient without a name"), expected=say("a name"), remedy=say("name it"))
        for key in ("stock_kg", "least_kg", "cost_per_kg", "minutes_per_kg"):
            value = getattr(self, key)
            if math.isnan(value) or value < 0 or (key != "stock_kg" and math.isinf(value)):
                raise InputError(
                    say("{name}: {key} is {value:g}", name=self.name, key=key, value=value),
                    expected=say("a number of zero or more"),
                    remedy=say("correct the amount"),
                )
        if self.vessel_l is not None and not 0 < self.vessel_l < math.inf:
            raise InputError(
                say("{name}: a vessel of {vessel_l:g} litres", name=self.name, vessel_l=self.vessel_l),
                expected=say("a size above zero"),
                remedy=say("correct it"),
            )
        if self.least_kg > self.stock_kg:
            raise InputError(
                say(
                    "{name}: at least {least_kg:g} kg wanted, {stock_kg:g} kg in stock",
                    name=self.name,
                    least_kg=self.least_kg,
                    stock_kg=self.stock_kg,
                ),
                expected=say("not more wanted than there is"),
                remedy=say("lower the amount that must be used, or fetch more"),
            )

    @property
    def draws(self) -> int:
        """Return the number of draws; 1 when every quantity is a single number."""
        return max(len(getattr(self, key)) for key in _QUANTITIES if getattr(self, key) is not None)

    def median(self, key: str) -> float:
        """Return the median of one quantity; nan when it is not known."""
        value = getattr(self, key)
        return math.nan if value is None else float(np.median(value))

    @classmethod
    def from_composition(
        cls,
        composition: Composition,
        *,
        name: str | None = None,
        stock_kg: float = math.inf,
        least_kg: float = 0.0,
        vessel_l: float | None = None,
        cost_per_kg: float = 0.0,
        minutes_per_kg: float = 0.0,
    ) -> Ingredient:
        """Return the ingredient a composition describes, with its draws.

        Parameters
        ----------
        composition : with moisture and N; carbon from organic matter or ash where it was not measured.

        Raises
        ------
        InputError : moisture, nitrogen, or every figure for carbon is missing.

        Source
        ------
        Carbon per organic matter: coefficient ``carbon_in_organic_matter``. Fines: material_values.csv by kind.
        """
        called = name or composition.material
        found = {key: composition.draws(key) for key in _KEYS if key in composition}
        om = found.get("organic_matter", 1.0 - found["ash"] if "ash" in found else None)
        if "C" not in found and om is not None:
            found["C"] = om * coefficient("carbon_in_organic_matter").value
        for key, word in (
            ("moisture", say("moisture")),
            ("N", say("nitrogen")),
            ("C", say("carbon, organic matter or ash")),
        ):
            if key not in found:
                raise InputError(
                    say("{called}: no {word}", called=called, word=word),
                    expected=say("moisture, nitrogen and carbon of every ingredient"),
                    remedy=say("add a lab report, or choose the nearest material of the reference list"),
                )
        ash = found.get("ash", None if om is None else 1.0 - om)
        fines = found.get("fines_share")
        if fines is None:
            fines = _published_fines(composition, len(found["moisture"]))
        return cls(
            called, found["moisture"], found["C"], found["N"], om, ash, found.get("bulk_density"), fines,
            found.get("pH"), found.get("EC"), stock_kg, least_kg, vessel_l, cost_per_kg, minutes_per_kg,
        )  # fmt: skip


def _published_fines(composition: Composition, n: int) -> Array | None:
    """Return draws of the share of fines from the reference data of a material; no laboratory report holds it."""
    rows = [one for one in table("material_values") if one["slug"] == composition.kind]
    one = next((row for row in rows if row["quantity"] == "fines_share" and row["low"] and row["high"]), None)
    if one is None:
        return None
    low, high = (min(max(float(one[end]), _EDGE), 1.0 - _EDGE) for end in ("low", "high"))
    typical = min(max(float(one["typical"]), low), high) if one["typical"] else None
    spread = from_range("logit", low, high, typical)
    return spread.draw(n, composition.seed, composition.material, "fines_share")


_EDGE = 0.005  # a share of nothing or of everything has no place on the logit scale
_KEYS = ("moisture", "C", "N", "organic_matter", "ash", "bulk_density", "fines_share", "pH", "EC")


@dataclass(frozen=True)
class Matter:
    """The ingredients of one blend as arrays of shape (ingredients, draws); None where one of them is not known."""

    names: tuple[str, ...]
    moisture: Array
    c_dm: Array
    n_dm: Array
    om_dm: Array | None
    ash_dm: Array | None
    bulk_density: Array | None
    fines: Array | None
    ph: Array | None
    ec: Array | None

    @property
    def draws(self) -> int:
        """Return the number of draws."""
        return int(self.moisture.shape[1])

    @property
    def dry(self) -> Array:
        """Return kg dry matter per kg as received."""
        return dry_share(self.moisture)

    @property
    def condensed_m3(self) -> Array | None:
        """Return m3 of water and solids per kg as received; None when ash is not known."""
        if self.om_dm is None or self.ash_dm is None:
            return None
        return condensed_m3_per_kg(self.moisture, self.om_dm, self.ash_dm)

    def take(self, index: slice | NDArray[np.intp]) -> Matter:
        """Return the same ingredients with some of the draws."""
        return self._map(lambda values: values[:, index])

    def median(self) -> Matter:
        """Return the same ingredients with one draw: the median of every quantity."""
        return self._map(lambda values: np.median(values, axis=1, keepdims=True))

    def _map(self, change: Callable[[Array], Array]) -> Matter:
        parts = {one.name: getattr(self, one.name) for one in fields(self) if one.name != "names"}
        changed = {key: None if value is None else change(value) for key, value in parts.items()}
        return Matter(self.names, **changed)  # type: ignore[arg-type]


def matter(ingredients: Sequence[Ingredient]) -> Matter:
    """Return the arrays of several ingredients, draws lined up.

    Raises
    ------
    InputError : there is none, two have one name, or their draws differ in number.
    """
    if not ingredients:
        raise InputError(
            say("no ingredients"), expected=say("at least one material to blend"), remedy=say("name the materials")
        )
    names = tuple(one.name for one in ingredients)
    double = sorted({name for name in names if names.count(name) > 1})
    if double:
        raise InputError(
            say("“{double}” is listed {count} times", double=double[0], count=names.count(double[0])),
            expected=say("each ingredient once"),
            remedy=say("add the stocks of one material together, or give the loads different names"),
        )
    n = max(one.draws for one in ingredients)
    odd = {one.name: one.draws for one in ingredients if one.draws not in (1, n)}
    if odd:
        raise InputError(
            say("draws of different number: {odd}", odd=odd),
            expected=say("{n} draws or one number", n=n),
            remedy=say("draw them alike"),
        )
    stacked = {key: _stacked(ingredients, key, n) for key in _QUANTITIES}
    return Matter(names, **stacked)  # type: ignore[arg-type]


def _stacked(ingredients: Sequence[Ingredient], key: str, n: int) -> Array | None:
    rows = [getattr(one, key) for one in ingredients]
    if any(row is None for row in rows):
        return None
    return np.array([np.broadcast_to(row, (n,)) for row in rows], dtype=np.float64)
