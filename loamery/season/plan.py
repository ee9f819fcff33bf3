"""The season plan as people read it: actions by week, batches, what each bed gets, and where every number comes from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from loamery.bed.ceilings import Ceiling
from loamery.finding import Band, Finding, Ledger
from loamery.garden.model import Garden
from loamery.garden.report import LabReport
from loamery.lab.composition import Composition
from loamery.season.calendar import Calendar
from loamery.season.levers import Levers
from loamery.season.needs import BedNeed
from loamery.season.recipes import Recipe

Task = Literal["buy", "collect", "build", "turn", "feed", "mulch", "dig_in"]


@dataclass(frozen=True)
class Action:
    """One thing to do in one week.

    Parameters
    ----------
    week, day : week of the plan and its first day.
    task : kind of work.
    stuff, stuff_name : what is moved (a material, a compost), empty for turning.
    target, target_name : bed, heap or worm bed; donor for collecting; empty for buying.
    kg : as received; volume_l : loose; buckets : of the garden's size, rounded up to halves.
    depth_m : of the layer, for mulch.
    hours : of work.
    detail : one more line, e.g. what a heap is built from.
    sacks, cost : to buy, whole, and what they cost in the garden's currency; 0 for other work.
    """

    week: int
    day: date
    task: Task
    stuff: str
    stuff_name: str
    target: str
    target_name: str
    kg: float
    volume_l: float
    buckets: float
    hours: float
    depth_m: float = 0.0
    detail: str = ""
    sacks: int = 0
    cost: float = 0.0

    def as_dict(self) -> dict[str, object]:
        """Return the action ready for JSON."""
        return {**vars(self), "day": self.day.isoformat()}


@dataclass(frozen=True)
class Batch:
    """One batch of compost.

    Parameters
    ----------
    parts_kg : kilograms of each material as received; water_l to add.
    ready_week : first week its compost can be used; at or past the season's end it is next season's.
    """

    id: str
    heap: str
    heap_name: str
    recipe: Recipe
    week: int
    day: date
    parts_kg: Mapping[str, float]
    water_l: float
    volume_m3: float
    ready_week: int
    ready_day: date
    compost_kg: float


@dataclass(frozen=True)
class Given:
    """What one stuff gives one bed in the season, in g per m2 with its band."""

    stuff: str
    stuff_name: str
    use: str
    kg: float
    n: Band
    p: Band
    k: Band


@dataclass(frozen=True)
class Reached:
    """How near a bed comes to one ceiling.

    Parameters
    ----------
    load_kg_m2 : what counts against it: each material at the share of draws in which ceilings are to hold.
    band : of the load over all draws. kept : share of all draws in which the ceiling holds.
    """

    ceiling: Ceiling
    load_kg_m2: float
    band: Band
    kept: float = 1.0

    @property
    def share(self) -> float:
        """Return load over limit."""
        return self.load_kg_m2 / self.ceiling.limit_kg_m2 if self.ceiling.limit_kg_m2 > 0 else 0.0


@dataclass(frozen=True)
class BedPlan:
    """What one bed needs and gets, nutrients in g per m2.

    Parameters
    ----------
    need : uptake of nitrogen, and phosphorus and potassium to be supplied, by key.
    soil_n : nitrogen from the soil's own organic matter, cumulative by week (weeks,), g/m2.
    demand_n, supply_n : cumulative by week, g/m2; supply without the soil.
    supplied : by key, with band over all stuffs, without the soil.
    short : by key, what is missing at the end of the season: the mean over the scenarios, each at least 0.
    worst : by key, the same in the worst tenth of the scenarios.
    """

    need_data: BedNeed
    need: Mapping[str, float]
    soil_n: Sequence[float]
    demand_n: Sequence[float]
    supply_n: Sequence[float]
    supplied: Mapping[str, Band]
    short: Mapping[str, float]
    worst: Mapping[str, float]
    given: tuple[Given, ...]
    ceilings: tuple[Reached, ...]
    cover_share: float

    @property
    def id(self) -> str:
        """Return the bed's id."""
        return self.need_data.bed.id

    @property
    def name(self) -> str:
        """Return the bed's name."""
        return self.need_data.bed.name


@dataclass(frozen=True)
class MaterialUse:
    """What became of one material: kilograms as received over the season.

    Parameters
    ----------
    offered_kg, collected_kg : by donors. bought_kg : by the sack. stored_kg : lay in store on the first day.
    by_use_kg : what it was used for. left_kg : stays with the donors. in_store_kg : lies there at the end.
    thrown_kg : of what was stored, spoils before it finds a use.
    spent : money.
    """

    material: str
    name: str
    offered_kg: float
    collected_kg: float
    by_use_kg: Mapping[str, float]
    left_kg: float
    spent: float
    bought_kg: float = 0.0
    stored_kg: float = 0.0
    in_store_kg: float = 0.0
    thrown_kg: float = 0.0


@dataclass(frozen=True)
class SeasonPlan:
    """A whole season.

    Parameters
    ----------
    compositions, reports : by material id.
    hours : work by week.
    values, gaps : by aim (``shortfall`` points, ``cost`` hours, ``kept_away`` kg): what the plan reaches, and how much better another may be.
    scenarios : for how many draws it was made.
    from_week : first week that is planned; what lies before it was done and is taken as the records say.
    levers : what changes by hand are reckoned with.
    """

    garden: Garden
    calendar: Calendar
    compositions: Mapping[str, Composition]
    reports: Mapping[str, tuple[LabReport, ...]]
    actions: tuple[Action, ...]
    batches: tuple[Batch, ...]
    recipes: tuple[Recipe, ...]
    beds: tuple[BedPlan, ...]
    materials: tuple[MaterialUse, ...]
    hours: tuple[float, ...]
    money: float
    status: str
    values: Mapping[str, float]
    gaps: Mapping[str, float]
    scenarios: int
    seconds: float
    from_week: int = 0
    findings: tuple[Finding, ...] = ()
    ledger: Ledger = field(default_factory=Ledger)
    levers: Levers | None = field(default=None, repr=False)

    @property
    def published_only(self) -> tuple[str, ...]:
        """Return the names of materials no laboratory has tested."""
        return tuple(one.name for one in self.garden.materials if not self.reports.get(one.id))

    def chores(self) -> dict[int, tuple[Action, ...]]:
        """Return the actions of each week that has any."""
        weeks = sorted({one.week for one in self.actions})
        return {week: tuple(one for one in self.actions if one.week == week) for week in weeks}

    def as_dict(self) -> dict[str, object]:
        """Return the plan as one documented JSON document (docs/season.md)."""
        from loamery.season.document import plan_document

        return plan_document(self)
