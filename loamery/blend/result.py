"""The answer to a blending question: amounts, what the blend is like, how near each bound is, and the evidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loamery.finding import Band, Finding, Ledger


@dataclass(frozen=True)
class Portion:
    """How much of one ingredient goes in.

    Parameters
    ----------
    kg : as received; in whole vessels the median of what they hold.
    litres : None when the bulk density is not known.
    buckets : vessels of vessel_l; whole numbers when whole vessels were asked for.
    """

    name: str
    kg: float
    litres: float | None
    buckets: float | None
    vessel_l: float

    def as_dict(self) -> dict[str, object]:
        """Return the portion ready for JSON."""
        return dict(vars(self))


@dataclass(frozen=True)
class LimitState:
    """How a blend stands to one limit.

    Parameters
    ----------
    name : the limit in words.
    about : the quantity or ingredient.
    goal, value : the bound and what the blend has at the medians, SI.
    near : distance left as a share of the range (of the bound where it has one side); 0 at the bound, below 0 missed.
    binds : whether the blend sits at it, at the medians or in a draw that it was made to hold in.
    kept : share of fresh draws in which it holds.
    """

    name: str
    about: str
    goal: float
    value: float
    near: float
    binds: bool
    kept: float

    def as_dict(self) -> dict[str, object]:
        """Return the state ready for JSON."""
        return dict(vars(self))


@dataclass(frozen=True)
class BlendResult:
    """A blend.

    Parameters
    ----------
    portions : one per ingredient, in the order given.
    water_kg : water to add, kg (and litres).
    total_kg, total_l : as built, at the medians; volume None when a bulk density is not known.
    values : what the blend is like, with 90 % bands, in the unit people see.
    limits : how near each limit is.
    coverage : share of fresh draws in which all bounds hold together; None when no draws were given.
    asked : share asked for; None when bounds were to hold at the medians only.
    flagged : True when the share asked for cannot be had and this is the blend for the medians.
    most_reliable : kg by ingredient (and ``added water``) of the blend that keeps its bounds most often, when flagged.
    most_reliable_coverage : share of fresh draws in which that one holds.
    objective, objective_value, objective_unit : what was asked for and what it came to.
    """

    portions: tuple[Portion, ...]
    water_kg: float
    total_kg: float
    total_l: float | None
    values: Mapping[str, Band]
    limits: tuple[LimitState, ...]
    coverage: float | None
    asked: float | None
    flagged: bool
    most_reliable: Mapping[str, float] | None
    most_reliable_coverage: float | None
    objective: str
    objective_value: float | None
    objective_unit: str
    findings: tuple[Finding, ...]
    traces: Ledger

    @property
    def kg(self) -> dict[str, float]:
        """Return kg by ingredient."""
        return {one.name: one.kg for one in self.portions}

    @property
    def binding(self) -> tuple[str, ...]:
        """Return the names of the limits that bind."""
        return tuple(dict.fromkeys(one.name for one in self.limits if one.binds))

    def as_dict(self) -> dict[str, object]:
        """Return the blend ready for JSON."""
        plain = ("water_kg", "total_kg", "total_l", "coverage", "asked", "flagged", "most_reliable_coverage")
        return {
            "portions": [one.as_dict() for one in self.portions],
            **{key: getattr(self, key) for key in plain},
            "most_reliable": None if self.most_reliable is None else dict(self.most_reliable),
            "objective": {"name": self.objective, "value": self.objective_value, "unit": self.objective_unit},
            "values": {key: one.as_dict() for key, one in self.values.items()},
            "limits": [one.as_dict() for one in self.limits],
            "binding": list(self.binding),
            "findings": [one.as_dict() for one in self.findings],
            "traces": [one.as_dict() for one in self.traces],
        }
