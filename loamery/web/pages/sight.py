"""What one person sees of one garden at one moment: its records, what was last reckoned from them, and how to say it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property

from loamery.evidence.chart import Chart
from loamery.finding import Ledger
from loamery.garden.fields import Record
from loamery.garden.model import Garden
from loamery.heap.forecast import Forecast
from loamery.season.change import Move, changed
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import Prepared
from loamery.units import System
from loamery.web.pages.words import Words


@dataclass(frozen=True)
class Learnt:
    """A heap foreseen: the forecast, what readings changed about it in sentences, and the records it rests on."""

    told: Forecast
    words: tuple[str, ...] = ()
    rests_on: tuple[Record, ...] = ()


@dataclass(frozen=True)
class Reckoned:
    """Everything the models said about a garden, kept so that pages open at once.

    Parameters
    ----------
    plan : None when there is nothing to plan; failure then says why.
    heaps : forecasts by id of the batch, built or planned. charts : by system of units and what they are about.
    """

    prepared: Prepared | None = None
    plan: SeasonPlan | None = None
    failure: str = ""
    heaps: Mapping[str, Learnt] = field(default_factory=dict)
    charts: Mapping[System, Mapping[str, tuple[Chart, ...]]] = field(default_factory=dict)

    @cached_property
    def ledger(self) -> Ledger:
        """Return every trace there is."""
        from loamery.evidence.materials import label_traces
        from loamery.season.traces import composition_traces

        out = Ledger()
        if self.plan is not None:
            out.merge(self.plan.ledger)
        elif self.prepared is not None:
            for key, one in self.prepared.compositions.items():
                out.merge(composition_traces(one, self.prepared.garden.material(key).name))
        if self.prepared is not None:
            out.merge(label_traces(one for each in self.prepared.reports.values() for one in each))
        return out


@dataclass(frozen=True)
class Sight:
    """One garden as one person sees it today.

    Parameters
    ----------
    slug : of the garden in addresses. garden : all records as they are now.
    moves : amounts of the plan changed by hand: place of the action to kg and week.
    fresh : whether what was reckoned rests on the records as they are now.
    may_log, may_plan, may_own : what this person may do.
    """

    slug: str
    garden: Garden
    reckoned: Reckoned
    words: Words
    on: date
    moves: Mapping[int, tuple[float, int]] = field(default_factory=dict)
    fresh: bool = True
    may_log: bool = True
    may_plan: bool = True
    may_own: bool = True

    @property
    def solved(self) -> SeasonPlan | None:
        """Return the season plan as it was solved, None before there is one."""
        return self.reckoned.plan

    @cached_property
    def plan(self) -> SeasonPlan | None:
        """Return the season plan with the amounts that were changed by hand."""
        plan = self.reckoned.plan
        if plan is None or plan.levers is None or not self.moves:
            return plan
        moves = [Move(index, kg, week) for index, (kg, week) in self.moves.items()]
        found = changed(plan, plan.levers, moves)
        return replace(plan, actions=found.actions, hours=found.hours)

    @cached_property
    def _places(self) -> dict[int, str]:
        """Return the kind and place of each record of the snapshot, by the record itself."""
        kinds = (name for name, value in vars(self.garden).items() if isinstance(value, tuple))
        return {id(one): f"{kind}/{place}" for kind in kinds for place, one in enumerate(getattr(self.garden, kind))}

    def kept(self, record: Record) -> str:
        """Return the kind of a record and its place among them, to open its history by; records of the snapshot only."""
        return self._places[id(record)]

    @property
    def prepared(self) -> Prepared | None:
        """Return what laboratories said, None before it was read."""
        return self.reckoned.prepared

    def charts(self, about: str) -> tuple[Chart, ...]:
        """Return the charts about something in the person's units, none before there is a plan."""
        return self.reckoned.charts.get(self.words.system, {}).get(about, ())

    def week(self) -> int:
        """Return the week of the plan that today is in, at its first or last when outside."""
        if self.plan is None:
            return 0
        return min(max(self.plan.calendar.week_of(self.on), 0), self.plan.calendar.weeks - 1)

    def monday(self, week: int) -> date:
        """Return the first day of a week of the plan."""
        assert self.plan is not None
        return self.plan.calendar.monday(week)

    def sunday(self, week: int) -> date:
        """Return the last day of a week of the plan."""
        return self.monday(week) + timedelta(6)
