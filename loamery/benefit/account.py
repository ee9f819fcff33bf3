"""The climate account of free material: landfill methane avoided, less what composting and spreading give off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loamery.benefit.landfill import Waste, Zone, emitted, methane_by_year, waste_type
from loamery.reference import coefficient
from loamery.uncertain import scores

Array = NDArray[np.float64]
Use = Literal["heap", "worm_bed", "mulch", "dig_in"]
N2O_PER_N = 44.0 / 28.0
G_PER_KG = 1000.0
DOC = {"food": "doc_food", "garden": "doc_garden", "paper": "doc_paper", "wood": "doc_wood_straw"}


@dataclass(frozen=True)
class Used:
    """Some of a donor's free material, and what was done with it.

    Parameters
    ----------
    kind : slug of the reference material. kg : as received.
    n_kg : total nitrogen in it, shape (draws,).
    """

    donor: str
    material: str
    kind: str
    use: Use
    kg: float
    n_kg: Array = field(repr=False)


@dataclass(frozen=True)
class Setting:
    """What is assumed of the place.

    Parameters
    ----------
    landfilled : share that would have gone to landfill.
    captured : share of landfill methane caught; None draws it from its range.
    """

    zone: Zone
    landfilled: float = 1.0
    captured: float | None = None
    seed: int = 1
    draws: int = 1000

    def draw(self, key: str) -> Array:
        """Return draws of a coefficient: three-cornered between its ends, highest at its value, the same for every use."""
        from scipy.special import ndtr

        one = coefficient(key)
        if one.low == one.high:
            return np.full(self.draws, one.value)
        even = ndtr(scores(self.draws, self.seed, "benefit", key))
        width, rise = one.high - one.low, one.value - one.low
        return np.asarray(np.where(
            even * width < rise, one.low + np.sqrt(even * width * rise), one.high - np.sqrt((1.0 - even) * width * (one.high - one.value))
        ))  # fmt: skip


@dataclass(frozen=True)
class Gases:
    """What one lot of material means for the air; every figure has shape (draws,).

    Parameters
    ----------
    methane_kg : landfill methane that does not reach the air, over the years counted.
    avoided_kg : the same as CO2; made_kg : methane and nitrous oxide of composting and spreading, as CO2.
    """

    methane_kg: Array
    avoided_kg: Array
    made_kg: Array

    @property
    def net_kg(self) -> Array:
        """Return what is saved after all, kg of CO2 equivalents; below zero where more is given off than avoided."""
        return self.avoided_kg - self.made_kg

    def __add__(self, other: Gases) -> Gases:
        return Gases(
            self.methane_kg + other.methane_kg, self.avoided_kg + other.avoided_kg, self.made_kg + other.made_kg
        )


def gases(used: Used, setting: Setting) -> Gases:
    """Return the gases of one lot of material.

    Source
    ------
    Landfill: IPCC 2006 volume 5 chapter 3. Composting: Table 4.1 (wet mass). Spreading: volume 4, EF1 on its nitrogen.
    Warming over 100 years: AR6.
    """
    methane = landfill_methane(used.kind, used.kg * setting.landfilled, setting)
    warming, n2o_warming = coefficient("gwp_ch4").value, coefficient("gwp_n2o").value
    if used.use in ("heap", "worm_bed"):
        ch4 = used.kg * setting.draw("compost_ch4") / G_PER_KG
        n2o = used.kg * setting.draw("compost_n2o") / G_PER_KG
    else:
        ch4 = np.zeros(setting.draws)
        n2o = used.n_kg * setting.draw("soil_n2o_share") * N2O_PER_N
    return Gases(methane, methane * warming, ch4 * warming + n2o * n2o_warming)


def landfill_methane(kind: str, kg: float, setting: Setting) -> Array:
    """Return the methane that a mass of a material would send into the air from a landfill, kg, shape (draws,)."""
    group = waste_type(kind)
    if not group:
        return np.zeros(setting.draws)
    waste = Waste(
        kg, setting.draw(DOC[group]), setting.draw(f"landfill_docf_{group}"), setting.draw(f"landfill_k_{group}_{setting.zone}"),
        setting.draw("landfill_mcf"), setting.draw("methane_fraction"),
    )  # fmt: skip
    made = methane_by_year(waste, int(coefficient("landfill_years").value)).sum(axis=0)
    captured = setting.draw("landfill_capture") if setting.captured is None else setting.captured
    return emitted(made, captured, setting.draw("landfill_oxidation"))


def together(lots: Sequence[Used], setting: Setting) -> Gases:
    """Return the gases of several lots; what is uncertain about the place is the same for all of them."""
    nothing = np.zeros(setting.draws)
    total = Gases(nothing, nothing, nothing)
    for one in lots:
        total = total + gases(one, setting)
    return total


def sources_used(lots: Sequence[Used], setting: Setting) -> tuple[str, ...]:
    """Return the source keys of every coefficient that an account rests on."""
    keys = [
        "gwp_ch4",
        "gwp_n2o",
        "compost_ch4",
        "compost_n2o",
        "soil_n2o_share",
        "methane_fraction",
        "landfill_oxidation",
        "landfill_capture",
    ]
    for group in dict.fromkeys(waste_type(one.kind) for one in lots):
        keys += [DOC[group], f"landfill_docf_{group}", f"landfill_k_{group}_{setting.zone}"] if group else []
    return tuple(dict.fromkeys(coefficient(key).source for key in keys))
