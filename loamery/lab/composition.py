"""A composition: what a material is made of, each quantity with its distribution, draws and origin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from loamery.finding import Band, Finding, Input
from loamery.names import quantity
from loamery.uncertain import Draws, Uncertain, band
from loamery.units import from_si

Origin = Literal["measured", "published", "measured and published", "derived"]


@dataclass(frozen=True)
class Estimate:
    """One quantity of a composition.

    Parameters
    ----------
    key : composition key, e.g. ``N``, ``P:extractable``, ``moisture``.
    quantity : glossary key.
    basis : ``dry`` for concentrations, ``as_received`` for moisture and bulk density, ``none`` otherwise.
    distribution : in the SI unit of the glossary (kg/kg dry for concentrations).
    draws : array of shape (n,), same unit.
    origin : whether it rests on reports, published ranges or both.
    inputs : every reported value and published range that went in.
    equation : how they were combined, in one line.
    sources : source keys used.
    detection_limit : lowest reporting limit, same unit, when every report that measured it found nothing.
    """

    key: str
    quantity: str
    basis: str
    distribution: Uncertain
    draws: Draws = field(repr=False, compare=False)
    origin: Origin
    inputs: tuple[Input, ...] = ()
    equation: str = ""
    sources: tuple[str, ...] = ()
    detection_limit: float | None = None

    @property
    def median(self) -> float:
        """Return the median of the distribution, SI."""
        return self.distribution.median

    def band(self) -> Band:
        """Return median and 90 % band of the draws in the unit people see."""
        unit = quantity(self.quantity).display_unit
        return band(self.draws, unit, 1.0 / from_si_factor(unit))


def from_si_factor(unit_name: str) -> float:
    """Return how many SI units one display unit holds."""
    return 1.0 / float(from_si(1.0, unit_name))


@dataclass(frozen=True)
class Composition:
    """What one material is made of.

    Parameters
    ----------
    material : id in the garden, or the reference slug when there is no garden.
    kind : slug of the reference material.
    estimates : by composition key.
    findings : what the combination noticed.
    reports : names of the laboratory reports used.
    n, seed : number of draws and the seed they came from.
    """

    material: str
    kind: str
    estimates: Mapping[str, Estimate]
    findings: tuple[Finding, ...] = ()
    reports: tuple[str, ...] = ()
    n: int = 1000
    seed: int = 1

    def __contains__(self, key: object) -> bool:
        return key in self.estimates

    def __getitem__(self, key: str) -> Estimate:
        return self.estimates[key]

    def draws(self, key: str) -> Draws:
        """Return the draws of one quantity, shape (n,), SI."""
        return self.estimates[key].draws

    def median(self, key: str) -> float:
        """Return the median of one quantity, SI."""
        return self.estimates[key].median
