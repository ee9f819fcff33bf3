"""Questions that take longer than a page may: which test next, what if, what was saved, looking back. Reckoned in the background."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from loamery.errors import InputError
from loamery.evidence.chart import Chart
from loamery.evidence.page import Page
from loamery.garden.model import Garden
from loamery.say import say
from loamery.season.compare import Comparison, Row, compare_change
from loamery.season.make import solve_prepared
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import Prepared, prepare
from loamery.season.shadow import Spare, spares
from loamery.season.what_if import Change, bed_added, donor_stops, price_changes, rain_changes
from loamery.season.which_test import NextTests, which_test

Progress = Callable[[str], None]
Asked = Mapping[str, Any]
SHEETS = {"benefit": "benefit", "review": "evidence"}
"""Questions that are answered by a sheet, and what its files are called."""
QUESTIONS = ("tests", "what-if", *SHEETS)
SEASONS = 40
"""Seasons in which two plans are played; the command line can ask for more."""


@dataclass(frozen=True)
class TestsFound:
    """Which test next: what each is worth, and what one more of anything would spare."""

    version: int
    tests: NextTests
    spares: tuple[Spare, ...]
    charts: tuple[Chart, ...]


@dataclass(frozen=True)
class Compared:
    """What if: two plans side by side, without the seasons they were played in.

    Parameters
    ----------
    asked : as the form gave it. labels, kept_shares : of each side, the plan as it is first.
    """

    version: int
    asked: Asked
    question: str
    seasons: int
    labels: tuple[str, ...]
    kept_shares: tuple[float, ...]
    rows: tuple[Row, ...]
    chart: Chart


def find_tests(garden: Garden, prepared: Prepared | None, version: int, tell: Progress) -> TestsFound:
    """Return what each laboratory test would be worth to the plan of the whole season.

    Parameters
    ----------
    prepared : reports that were read already; read now when None.
    """
    from loamery.evidence.charts_explained import spares_chart, tests_chart

    solved = solve_prepared(prepared or prepare(garden, tell), tell)
    tell("trying what more would spare")
    more = spares(solved.problem, solved.solution)
    found = which_test(solved, progress=tell)
    tell("drawing charts")
    charts = (tests_chart(found.tests, garden.info.currency), *((spares_chart(more),) if more else ()))
    return TestsFound(version, found, more, charts)


def changes_of(garden: Garden, asked: Asked) -> list[Change]:
    """Return the changes of a question.

    Raises
    ------
    InputError : one that makes no sense, or no change at all.
    """
    changes = [donor_stops(garden, asked["donor"])] if asked.get("donor") else []
    if asked.get("crop"):
        changes.append(bed_added(garden, asked["crop"], float(asked.get("area_m2") or 0.0)))
    if asked.get("rain") is not None:
        changes.append(rain_changes(garden, float(asked["rain"])))
    if asked.get("material"):
        changes.append(price_changes(garden, asked["material"], float(asked["price"])))
    if not changes:
        raise InputError(
            say("no change"), expected=say("one change or more"), remedy=say("choose what would be different")
        )
    return changes


def compare(garden: Garden, prepared: Prepared | None, version: int, asked: Asked, tell: Progress) -> Compared:
    """Return the plan of the whole season beside that of the changed garden."""
    from loamery.evidence.charts_explained import sides_chart

    changes = changes_of(garden, asked)
    found: Comparison = compare_change(prepared or prepare(garden, tell), changes, draws=SEASONS, progress=tell)
    tell("drawing charts")
    return Compared(
        version=version,
        asked=dict(asked),
        question=found.question,
        seasons=found.sides[0].played.years.n,
        labels=tuple(one.label for one in found.sides),
        kept_shares=tuple(one.played.holds_share for one in found.sides),
        rows=found.rows,
        chart=sides_chart(found, "comparison", garden.info.currency),
    )


def benefit_sheets(garden: Garden, prepared: Prepared | None, plan: SeasonPlan | None, on: date, tell: Progress) -> dict[str, Page]:  # fmt: skip
    """Return the sheet of what free material replaced and saved, and a thank-you sheet for each donor.

    Raises
    ------
    InputError : no load was written down and there is no plan.
    """
    from loamery.benefit.account import Setting
    from loamery.benefit.landfill import climate_zone
    from loamery.evidence.benefit_account import gather, moved_by_plan, moved_by_records
    from loamery.evidence.benefit_claims import Account
    from loamery.evidence.benefit_sheet import benefit_page, thanks_page

    moved = moved_by_records(garden)
    if moved is None and plan is not None:
        moved = moved_by_plan(plan)
    if moved is None:
        raise InputError(
            say("no loads were written down"), expected=say("loads, or a plan"), remedy=say("plan the season first")
        )
    info, climate = garden.info, garden.climate
    setting = Setting(climate_zone(climate.mean_temp_c, climate.rain_mm), seed=info.seed, draws=info.draws)
    ready = prepared or prepare(garden, tell)
    tell("writing the sheets")
    account = Account(garden, gather(garden, ready.compositions, ready.soils, moved), setting, garden.fertilisers)  # fmt: skip
    thanks: Sequence[str] = account.donors
    return {"benefit": benefit_page(account, on), **{f"thanks-{one}": thanks_page(account, one, on) for one in thanks}}


def review_sheet(garden: Garden, plan: SeasonPlan | None, on: date, tell: Progress) -> dict[str, Page]:
    """Return the evidence of the last season that was written down."""
    from loamery.evidence.review_facts import gather_facts
    from loamery.evidence.review_sheet import review_page

    facts = gather_facts(garden, None, tell)
    same = facts.moved is not None and facts.first <= garden.info.season_start <= facts.last
    tell("writing the sheet")
    return {SHEETS["review"]: review_page(facts, plan if same else None, garden.fertilisers, on)}
