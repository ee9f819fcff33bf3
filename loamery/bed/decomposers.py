"""One day of decay: what is eaten, what becomes decomposers, and the nitrogen that sets free or ties up.

Drawdown is not written down anywhere here. Decomposers keep a share of the carbon they take in and need nitrogen for
it; where the material holds less than they need they take it from the soil, and when they die most of it comes back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.bed.parameters import Parameters

Array = NDArray[np.float64]
TINY = 1e-15


@dataclass(eq=False)
class Stock:
    """What of the materials is still in or on a bed; arrays of shape (portions, beds, draws), pools first, kg per m2.

    Parameters
    ----------
    carbon, nitrogen : of the three pools, shape (3, portions, beds, draws).
    living : carbon of the decomposers. age : days at 25 °C since it was given, mean of what is there.
    ammonium : on the surface, not yet in the soil. alkalinity, lime : mol of charge not yet set free.
    """

    carbon: Array
    nitrogen: Array
    living: Array
    age: Array
    ammonium: Array
    alkalinity: Array
    lime: Array

    @classmethod
    def empty(cls, portions: int, beds: int, draws: int) -> Stock:
        """Return a bed with nothing on it."""
        shape = (portions, beds, draws)
        return cls(np.zeros((3, *shape)), np.zeros((3, *shape)), *(np.zeros(shape) for _ in range(5)))


@dataclass(frozen=True, eq=False)
class Portions:
    """What does not change of the materials, shape (portions, 1, draws) unless named otherwise.

    Parameters
    ----------
    rate : of the pools, 1/day at 25 °C, shape (3, portions, 1, draws). lag : days at 25 °C.
    speed : 1 dug in, the contact factor on the surface. reach : share of its needs it can take from the soil.
    lime_rate : 1/day at 25 °C.
    """

    rate: Array
    lag: Array
    speed: Array
    reach: Array
    lime_rate: Array
    surface: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Decay:
    """What one day of decay did, kg per m2 (alkalinity in mol of charge).

    Parameters
    ----------
    net : nitrogen each portion gave (above zero) or took, shape (portions, beds, draws).
    given, taken : sums of what was given and what was taken, shape (beds, draws).
    respired : carbon breathed out. humus_carbon, humus_nitrogen : gained by the soil's own matter.
    alkalinity : set free by decay of organic anions and by dissolving lime.
    """

    net: Array
    given: Array
    taken: Array
    respired: Array
    humus_carbon: Array
    humus_nitrogen: Array
    alkalinity: Array


def decay_day(
    stock: Stock, portions: Portions, numbers: Parameters, pace: Array, mineral_n: Array, soil_release: Array,
    *, demand: bool = True,
) -> Decay:  # fmt: skip
    """Let one day pass over a stock, which is changed in place.

    Parameters
    ----------
    pace : days at 25 °C and best moisture that the day is worth, shape (beds, draws).
    mineral_n : ammonium and nitrate of the root zone. soil_release : what the soil's own matter sets free that day.
    demand : False lets decomposers live without nitrogen, to show what their demand does.

    Notes
    -----
    Equations 6 to 15 of docs/bed-model.md.
    """
    work = pace * portions.speed * _started(stock, portions, pace)
    eaten = -np.expm1(-portions.rate * work)
    carbon, nitrogen = stock.carbon * eaten, stock.nitrogen * eaten
    kept = numbers["bed_efficiency"] if demand else np.zeros_like(numbers["bed_efficiency"])
    died = _deaths(stock.living, kept * carbon.sum(axis=0), numbers["bed_biomass_death"] * pace)
    to_humus = numbers["bed_humus_share"] * died
    again = died - to_humus
    ratio = numbers["bed_biomass_cn"]
    intake = carbon.sum(axis=0) + again
    released = nitrogen.sum(axis=0) + again / ratio
    share, slower, net = _growth(portions, numbers, kept, intake, released, mineral_n, soil_release)
    before = stock.carbon.sum(axis=0)
    stock.carbon -= slower * carbon
    stock.nitrogen -= slower * nitrogen
    stock.living += slower * (share * intake - died)
    freed = _alkalinity(stock, portions, before, pace)
    return Decay(
        net=net,
        given=np.maximum(net, 0.0).sum(axis=0),
        taken=np.maximum(-net, 0.0).sum(axis=0),
        respired=(slower * (1.0 - share) * intake).sum(axis=0),
        humus_carbon=(slower * to_humus).sum(axis=0),
        humus_nitrogen=(slower * to_humus / ratio).sum(axis=0),
        alkalinity=freed,
    )


def _deaths(living: Array, grown: Array, rate: Array) -> Array:
    """Return what dies in a day of those there in the morning and of those that grow evenly through the day, kg per m2."""
    lived = np.where(rate > TINY, -np.expm1(-rate) / np.maximum(rate, TINY), 1.0)
    return np.asarray(living * -np.expm1(-rate) + grown * (1.0 - lived))


def _started(stock: Stock, portions: Portions, pace: Array) -> Array:
    """Return how far decomposers have settled on a material: a ramp over twice its lag, and let its age grow."""
    settled = np.where(portions.lag > 0, stock.age / np.maximum(2.0 * portions.lag, TINY), 1.0)
    stock.age += pace * (stock.carbon.sum(axis=0) > 0)
    return np.minimum(settled, 1.0)


def _growth(
    portions: Portions, numbers: Parameters, kept: Array, intake: Array, released: Array, mineral_n: Array,
    soil_release: Array,
) -> tuple[Array, Array, Array]:  # fmt: skip
    """Return the share of carbon kept, the share of the day's decay that nitrogen allows, and net nitrogen.

    Notes
    -----
    Decomposers short of nitrogen first keep less carbon, down to `bed_efficiency_least`, then slow down.
    """
    ratio = numbers["bed_biomass_cn"]
    balance = released - kept * intake / ratio
    wanted = np.maximum(-balance, 0.0) * portions.reach
    within = numbers["bed_take_most"] * mineral_n + soil_release + np.maximum(balance, 0.0).sum(axis=0)
    got = wanted * np.minimum(within / np.maximum(wanted.sum(axis=0), TINY), 1.0)
    short = (balance < 0.0) & (got < -balance)
    least = np.minimum(numbers["bed_efficiency_least"], kept)
    afforded = ratio * (released + got) / np.maximum(intake, TINY)
    share = np.where(short, np.clip(afforded, least, kept), kept)
    starved = short & (afforded < least)
    lack = np.where(starved, least * intake / ratio - released, 1.0)
    slower = np.where(starved, got / lack, 1.0)
    net = np.where(balance < 0.0, -got, balance)
    return share, slower, net


def _alkalinity(stock: Stock, portions: Portions, before: Array, pace: Array) -> Array:
    """Return the alkalinity set free: organic anions as carbon decays, lime at its own rate; mol per m2."""
    gone = 1.0 - stock.carbon.sum(axis=0) / np.maximum(before, TINY)
    organic = stock.alkalinity * np.where(before > TINY, gone, 0.0)
    dissolved = stock.lime * -np.expm1(-portions.lime_rate * portions.speed * pace)
    stock.alkalinity -= organic
    stock.lime -= dissolved
    return np.asarray((organic + dissolved).sum(axis=0))
