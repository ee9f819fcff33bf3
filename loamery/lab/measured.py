"""What the reports of a material say of one quantity, each on the scale on which it is combined."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from loamery.finding import Input
from loamery.garden.report import LabReport
from loamery.lab.precision import between_laboratories, on_scale, precision
from loamery.lab.published import EC_EXTRACT
from loamery.lab.sample import Figure, as_input, figure, moisture_of, total_nitrogen
from loamery.names import quantity
from loamery.uncertain import to_scale


@dataclass(frozen=True)
class Measured:
    """One sample's word on a quantity.

    Parameters
    ----------
    y : value on the transformed scale; the reporting limit when censored.
    own_variance : variance of the laboratory's error, transformed scale, without that of moisture.
    water : shift of y per standard score of this sample's moisture; the same score serves all its quantities.
    report : name of the report.
    censored : only known to lie below y.
    """

    y: float
    own_variance: float
    water: float
    report: str
    censored: bool
    inputs: tuple[Input, ...]
    sources: tuple[str, ...]

    @property
    def variance(self) -> float:
        """Return the whole error variance on the transformed scale."""
        return self.own_variance + self.water**2


def measured(reports: Sequence[LabReport], key: str) -> tuple[Measured, ...]:
    """Return every usable figure of a composition key, one per report, in the order of report names.

    Parameters
    ----------
    reports : samples of one material.
    key : composition key; ``ash`` takes organic matter too, ``C`` and ``N`` take C:N with the other.
    """
    found = (_one(report, key) for report in sorted(reports, key=lambda one: one.name))
    return tuple(one for one in found if one is not None)


def _one(report: LabReport, key: str) -> Measured | None:
    if key == "moisture":
        return _moisture(report)
    if key == "ash":
        return _direct(report, "ash") or _turned(_direct(report, "organic_matter"))
    if key == "N":
        return _nitrogen(report) or _by_ratio(report, "N", "C", -1.0)
    if key == "C":
        return _direct(report, "C") or _by_ratio(report, "C", "N", 1.0)
    return _direct(report, key)


def _moisture(report: LabReport) -> Measured | None:
    found = moisture_of(report)
    if found is None:
        return None
    y = float(to_scale("logit", found.value))
    sources = precision(found.determination).sources
    return Measured(y, 0.0, on_scale("logit", found.value, found.sd), report.name, False, (as_input(found),), sources)


def _direct(report: LabReport, key: str) -> Measured | None:
    found = figure(report, key, censored=True)
    return None if found is None else _measured(report, (found,), quantity(key.split(":")[0]).distribution)


def _nitrogen(report: LabReport) -> Measured | None:
    parts = total_nitrogen(report)
    return _measured(report, parts, "lognormal") if len(parts) > 1 else _direct(report, "N")


def _measured(report: LabReport, parts: tuple[Figure, ...], kind: str) -> Measured | None:
    value = sum(one.value for one in parts)
    if (kind != "normal" and value <= 0) or (kind == "logit" and value >= 1):
        return None
    sd = on_scale(kind, value, math.hypot(*(one.sd for one in parts)))
    wet = next((one.moisture for one in parts if one.moisture is not None), None)
    inputs = tuple(as_input(one) for one in parts) + (() if wet is None else (as_input(wet),))
    sources = tuple(dict.fromkeys(key for one in parts for key in precision(one.determination, one.value).sources))
    y = float(to_scale(kind, value))
    return Measured(y, sd**2, _water(kind, value, wet), report.name, parts[0].censored, inputs, sources)


def _water(kind: str, value: float, wet: Figure | None) -> float:
    if wet is None:
        return 0.0
    # dry = as received/(1 - M): one standard score of moisture moves ln(dry) by sd/(1 - M).
    room = 1.0 - wet.value
    relative = min(wet.sd, room) / room
    return relative / (1.0 - value) if kind == "logit" else relative


def _turned(one: Measured | None) -> Measured | None:
    """Return a figure of organic matter as one of ash: the complement changes the sign of the logit."""
    return None if one is None or one.censored else replace(one, y=-one.y, water=-one.water)


def _by_ratio(report: LabReport, key: str, other: str, sign: float) -> Measured | None:
    """Return N as C over C:N (sign -1), or C as N times C:N (sign +1).

    A laboratory prints C:N from its own carbon and nitrogen, so the product gives back the figure it measured: the
    error is that of the quantity won, not the sum of two.
    """
    known, ratio = _direct(report, other), _direct(report, "CN")
    if known is None or ratio is None or known.censored or ratio.censored:
        return None
    y = known.y + sign * ratio.y
    error = between_laboratories(key, min(math.exp(y), 1.0))
    own = on_scale("lognormal", math.exp(y), error.sd)
    sources = tuple(dict.fromkeys(known.sources + error.sources))
    return replace(known, y=y, own_variance=own**2, inputs=known.inputs + ratio.inputs, sources=sources)


def other_extract(reports: Sequence[LabReport]) -> bool:
    """Tell whether any conductivity was measured in an extract that published figures do not use."""
    for report in reports:
        one = report.get("EC")
        words = f"{one.method} {one.raw_name}".lower() if one is not None else ""
        ratios = re.findall(r"\b1 ?: ?\d+", words)
        if any(name in words for name in ("satur", "sme", "paste")):
            return True
        if any(ratio.replace(" ", "") != EC_EXTRACT for ratio in ratios):
            return True
    return False
