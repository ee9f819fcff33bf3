"""How well a laboratory knows a number: the standard deviation of one determination on the scale of its quantity."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import stdev

from loamery.garden.report import Determination
from loamery.names import quantity
from loamery.reference import coefficient, coefficients
from loamery.say import say
from loamery.uncertain import horwitz_rsd

SHARES_OF_ASHING = ("ash", "organic_matter")


@dataclass(frozen=True)
class Precision:
    """The relative standard deviation of a value, and where it comes from.

    Parameters
    ----------
    sd : standard deviation, in the unit of the value.
    basis : how it was found, in a few words.
    sources : source keys.
    """

    sd: float
    basis: str
    sources: tuple[str, ...]


def precision(one: Determination, value: float | None = None) -> Precision:
    """Return the between-laboratory standard deviation of a determination.

    Parameters
    ----------
    one : the determination; a stated standard deviation or replicates are used when it has them.
    value : value to judge at when it is not the determination's own (a limit of a non-detect), SI.

    Returns
    -------
    Standard deviation in SI, never zero for a positive value.

    Source
    ------
    Horwitz (AOAC Appendix F 2012, Table D1) times ``lab_inflation``; within-laboratory share of the same rules.
    """
    at = one.value if value is None else value
    if at is None or at <= 0:
        return Precision(0.0, say("no positive value"), ())
    if one.sd is not None and 0 < one.sd < at:  # one above the value itself is in another unit
        return Precision(one.sd, say("standard deviation stated by the laboratory"), ())
    between = between_laboratories(one.quantity, at)
    if len(one.replicates) < 2:
        return between
    share = coefficient("within_lab_share").value
    bias = between.sd * math.sqrt(1.0 - share * share)
    repeat = stdev(one.replicates) / math.sqrt(len(one.replicates))
    words = say(
        "{count} replicates, plus the between-laboratory part of: {basis}",
        count=len(one.replicates),
        basis=between.basis,
    )
    return Precision(math.hypot(bias, repeat), words, (*between.sources, coefficient("within_lab_share").source))


def between_laboratories(key: str, value: float) -> Precision:
    """Return the standard deviation expected between laboratories for a quantity at a value, SI."""
    if key == "pH" or key == "buffer_pH":
        return _absolute("lab_sd_pH")
    if key in SHARES_OF_ASHING:
        return _ashing(key, value)
    if quantity(key).formula and quantity(key).is_concentration and value <= 1:
        inflation = coefficient("lab_inflation")
        rsd = horwitz_rsd(value) * inflation.value
        return Precision(rsd * value, f"Horwitz × {inflation.value:g}", ("AOACD1", inflation.source))
    name = f"lab_rsd_{key}" if f"lab_rsd_{key}" in coefficients() else "lab_rsd_other"
    found = coefficient(name)
    return Precision(
        found.value * value, say("{percent:.3g} % between laboratories", percent=100 * found.value), (found.source,)
    )


def _absolute(name: str) -> Precision:
    found = coefficient(name)
    return Precision(
        found.value, say("{sd:g} {unit} between laboratories", sd=found.value, unit=found.unit), (found.source,)
    )


def _ashing(key: str, value: float) -> Precision:
    # The error of loss on ignition lies in the residue weighed: it is relative to the smaller of the two shares.
    found, floor = coefficient(f"lab_rsd_{key}"), coefficient("lab_sd_ash_floor")
    sd = max(found.value * min(value, 1.0 - value), floor.value)
    return Precision(
        sd, say("{percent:.3g} % of the smaller of ash and organic matter", percent=100 * found.value), (found.source,)
    )


def on_scale(kind: str, value: float, sd: float) -> float:
    """Return a standard deviation on the transformed scale (delta method).

    Parameters
    ----------
    kind : ``lognormal``, ``logit`` or ``normal``.
    value, sd : in the quantity's own unit.
    """
    if kind == "lognormal":
        return math.sqrt(math.log1p((sd / value) ** 2))
    if kind == "logit":
        # The step is linear only within the share's own room; beyond it the figure says nothing more.
        return min(sd, value, 1.0 - value) / (value * (1.0 - value))
    return sd
