"""``loamery share``: every chart of a garden as pictures, figures and words to pass on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.show import console, literal, print_json, working

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.evidence.chart import Chart
    from loamery.garden.model import Garden
    from loamery.season.plan import SeasonPlan


def run(folder: Path, into: Path | None, anew: bool, language: str, units: UnitSystem | None, json: bool) -> None:
    """Write the share pack of a garden and say where it is."""
    from loamery.evidence.report import check_folder
    from loamery.evidence.share import Pack, write_pack
    from loamery.season.kept import plan_kept

    garden, target = open_garden(folder, units), into or folder / "share"
    check_folder(target)
    with working(json) as tell:
        kept = plan_kept(garden, tell, anew=anew)
        drawn = {one.key: one for one in _charts(garden, kept.plan, tell)}.values()
        charts = [one.in_language(language) for one in drawn]
        files = write_pack(Pack(garden.info.name, charts, garden.info.invented, date.today(), language), target, tell)
    if json:
        keys = [one.key for one in charts]
        paths = [str(one) for one in files]
        print_json(
            {
                "format": "loamery share 1",
                "folder": str(target),
                "charts": keys,
                "files": paths,
                "plan_made": kept.made.isoformat(),
            }
        )
        return
    console().print(literal(kept.words))
    console().print(f"{len(charts)} charts, each as SVG, PNG (16:9 and square), CSV and words, in {literal(target)}")
    console().print(literal(target / "index.html"))


def _charts(garden: Garden, plan: SeasonPlan, tell: Callable[[str], None]) -> Iterator[Chart]:
    """Yield the charts of the season, of each material, of the benefit, and of the trials."""
    from loamery.evidence.report import season_page

    tell("drawing the season")
    yield from season_page(plan).charts.values()
    yield from _materials(garden, plan)
    yield from _benefit(garden, plan)
    yield from _trials(garden)


def _materials(garden: Garden, plan: SeasonPlan) -> Iterator[Chart]:
    from loamery.evidence.charts_compare import compare_chart

    bought = next(iter(garden.fertilisers), None)
    named = {one.id: (one.name, plan.compositions[one.id]) for one in garden.materials}
    for key, (name, composition) in named.items():
        yield compare_chart(composition, name, {other: both for other, both in named.items() if other != key}, bought)


def _benefit(garden: Garden, plan: SeasonPlan) -> Iterator[Chart]:
    from loamery.benefit.account import Setting
    from loamery.benefit.landfill import climate_zone
    from loamery.evidence.benefit_account import gather, moved_by_plan, moved_by_records
    from loamery.evidence.benefit_claims import Account
    from loamery.evidence.charts_benefit import donors_chart, gases_chart

    moved = moved_by_records(garden) or moved_by_plan(plan)
    setting = Setting(
        climate_zone(garden.climate.mean_temp_c, garden.climate.rain_mm), seed=garden.info.seed, draws=garden.info.draws
    )
    soils = {one.need_data.bed.id: one.need_data.test for one in plan.beds}
    account = Account(garden, gather(garden, plan.compositions, soils, moved), setting, ())
    if account.gathered.lots:
        yield donors_chart(account)
        yield gases_chart(account)


def _trials(garden: Garden) -> Iterator[Chart]:
    from loamery.evidence.charts_trial import effects_chart, map_chart, readings_chart
    from loamery.trials.analyse import analyse
    from loamery.trials.folder import read_readings, read_trial, trial_names, trial_path

    folder = Path(garden.folder)
    for name in trial_names(folder):
        made = read_trial(folder, name)
        table = trial_path(folder, name).with_suffix(".csv")
        yield map_chart(made, {one.id: one.name for one in garden.beds})
        found = analyse(made, read_readings(table, made) if table.exists() else ())
        if found.effects:
            yield readings_chart(found)
            yield effects_chart(found)
