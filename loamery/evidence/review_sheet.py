"""The season's evidence: what was planned, done and measured, how good the forecasts were, what was saved and learnt."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.bed.soil import soil_unit
from loamery.benefit.account import Setting
from loamery.benefit.landfill import climate_zone
from loamery.evidence.benefit_account import Moved, gather
from loamery.evidence.benefit_claims import Account, claims_of
from loamery.evidence.benefit_traces import benefit_ledger, claim_trace, gases_trace
from loamery.evidence.block import (
    Block,
    Column,
    Facts,
    Figure,
    Grid,
    Items,
    Line,
    Notice,
    Para,
    Say,
    Section,
    Sheet,
    Table,
)
from loamery.evidence.charts_benefit import donors_chart, gases_chart
from loamery.evidence.charts_material import use_words
from loamery.evidence.charts_review import done_chart, soil_chart, thermometer_chart
from loamery.evidence.follow import Follow
from loamery.evidence.page import Page
from loamery.evidence.report import FORMATS, Progress, check_folder, check_formats, render, write_charts
from loamery.evidence.review_facts import Facts as SeasonFacts
from loamery.evidence.review_facts import Learnt
from loamery.evidence.review_soil import GROUPS, SoilChange
from loamery.evidence.review_traces import harvest_trace, review_ledger, soil_trace
from loamery.evidence.skill import Skill, skill_of
from loamery.evidence.text import Units, day_text, plural
from loamery.finding import Band
from loamery.garden.model import Fertiliser
from loamery.names import quantity
from loamery.saving import save_bytes
from loamery.say import joined, say
from loamery.season.plan import SeasonPlan
from loamery.units import from_si
from loamery.words import number, range_text, unit_words

INVENTED = say("Invented: this garden, its records and all its numbers are made up to show how it works.")
KINDS = {
    "heap temperature": say("Heap temperature"),
    "harvest": say("Harvest"),
    "soil pH": say("Soil pH"),
    "soil salt": say("Soil salt"),
    "soil phosphorus": say("Soil phosphorus"),
    "soil potassium": say("Soil potassium"),
    "soil nitrate": say("Soil nitrate"),
    "soil ammonium": say("Soil ammonium"),
}
"""Kinds of forecast as a sentence begins with them."""


def review_page(
    facts: SeasonFacts, plan: SeasonPlan | None, shop: Sequence[Fertiliser], on: date | None = None
) -> Page:
    """Return the season's evidence as plain data with its charts.

    Parameters
    ----------
    plan : of the same season; None when it was another one, or nothing was planned.
    """
    info, day, units = facts.garden.info, on or date.today(), Units(facts.garden.info.units)
    kind = say("Evidence of a season")
    sections = [
        Section(say("In short"), "short", _short(facts, units)),
        Section(say("Planned and done"), "done", _done(facts, plan, units)),
        Section(
            say("Forecasts and what was measured"),
            "skill",
            _measured(facts, units),
            fresh=bool(facts.heaps or facts.harvests),
        ),
        Section(say("Soil tests before and after"), "soil", _soil(facts), fit=True),
        Section(say("What was replaced and saved"), "saved", _saved(facts, shop)),
        Section(say("What was learnt"), "learnt", _learnt(facts)),
    ]
    sheet = Sheet(
        kind=kind,
        title=info.name,
        lines=[
            say(
                "{day} to {day_2}. Sheet of {day_3}.",
                day=day_text(facts.first),
                day_2=day_text(facts.last),
                day_3=day_text(day),
            )
        ],
        banner=INVENTED if info.invented else "",
        day=day.isoformat(),
        foot=say("{info_name} · {lower} · {day} · Loamery", info_name=info.name, lower=kind.lower(), day=day_text(day))
        + (say(" · invented") if info.invented else ""),
        sections=sections,
    )
    ledger = review_ledger(facts, skills(facts))
    if facts.moved is not None:
        ledger.merge(benefit_ledger(_account(facts, facts.moved, shop)))
    return Page(sheet, Follow(ledger))


def write_review(
    page: Page, folder: Path, *, formats: Sequence[str] = FORMATS, tell: Progress = lambda _: None
) -> list[Path]:
    """Write the season's evidence as evidence.html and .pdf with its charts beside it, and return the paths."""
    wanted = check_formats(formats)
    check_folder(folder)
    written = [save_bytes(folder / f"evidence.{one}", render(page, one, tell)) for one in wanted]
    return written + write_charts(page, folder / "charts")


def skills(facts: SeasonFacts) -> dict[str, Skill]:
    """Return the skill of each kind of forecast that something was measured of."""
    found = {"heap temperature": skill_of(facts.pairs), "harvest": skill_of(facts.harvests)}
    for group in GROUPS.values():
        found[group] = skill_of([one for one in facts.soil_pairs if one.what == group])
    return {key: one for key, one in found.items() if one is not None}


def _short(facts: SeasonFacts, units: Units) -> list[Block]:
    garden = facts.garden
    if not facts.records:
        return [Para(say("Nothing was written down in this season, so there is no evidence of it."), "lead"),
                Para(say("Weigh each load (loads.csv), write down heaps (batches.csv), readings (readings.csv), what was spread (applications.csv) and picked (harvests.csv)."))]  # fmt: skip
    taken = sum(one.kg for one in garden.loads)
    picked = sum(one.kg for one in garden.harvests)
    loads = plural(len(garden.loads), say("load"), say("loads"))
    readings = plural(len(garden.readings), say("reading"), say("readings"))
    pickings = plural(len(garden.harvests), say("picking"), say("pickings"))
    shown = [(say("Taken in"), Say(units.mass(taken), strong=True), loads),
             (say("Heaps built"), Say(str(len(garden.batches)), strong=True), readings),
             (say("Picked"), Say(units.mass(picked), strong=True), pickings)]  # fmt: skip
    told: list[Line] = [
        (Say(KINDS[key], f"skill/{key}"), say(": {words}", words=one.words)) for key, one in skills(facts).items()
    ]
    return [Facts(shown), *([Items(told)] if told else []), *(Notice(one) for one in facts.findings)]


def _done(facts: SeasonFacts, plan: SeasonPlan | None, units: Units) -> list[Block]:
    if facts.moved is None:
        return [Para(say("No load was written down: what was done cannot be told."))]
    if plan is None:
        rows: list[Sequence[Line]] = [
            (facts.garden.material(what).name, use_words(use), units.mass(kg))
            for (what, use), kg in sorted(facts.moved.uses.items())
        ]
        table = Table(
            say("What was done, by the records"),
            (Column(say("Material"), wide=2.0), Column(say("Use")), Column(say("Mass"), "right")),
            rows,
        )
        other = say("The plan of this garden is for another season, so nothing is compared with it.")
        return [Para(other, "soft"), table]
    done = {(what, str(use)): kg for (what, use), kg in facts.moved.uses.items()}
    return [Figure(done_chart(plan, done, units), printed=done_chart(plan, done, units, paper=True))]


def _measured(facts: SeasonFacts, units: Units) -> list[Block]:
    no_heap = say("No heap with its parts and thermometer readings was written down: no heap forecast can be judged.")
    no_yield = say("No planting was finished with its harvest written down: no yield can be judged.")
    heaps: list[Block] = [Figure(thermometer_chart(facts.heaps, units), origin="skill/heap temperature"), _heaps(facts, units)] if facts.heaps else [Para(no_heap)]  # fmt: skip
    return [*heaps, _harvests(facts, units) if facts.harvests else Para(no_yield)]


def _heaps(facts: SeasonFacts, units: Units) -> Table:
    rows: list[Sequence[Line]] = []
    for one in facts.heaps:
        found = skill_of(one.pairs)
        if found is not None:
            rows.append(
                (
                    one.batch.id,
                    str(found.count),
                    Say(f"{100 * found.inside.median:.0f} %", f"skill/heap/{one.batch.id}"),
                    joined("", ("−" if found.bias < 0 else "+", f"{abs(found.bias):.1f} K")),
                    f"{found.miss:.1f} K",
                    _hottest(one.told, max(each.temp_c for each in one.readings), units),
                )
            )
    columns = (
        Column(say("Heap"), wide=1.5),
        Column(say("Readings"), "right"),
        Column(say("In the band"), "right"),
        Column(say("Measured less foreseen"), "right"),
        Column(say("Typical miss"), "right"),
        Column(say("Warmest: foreseen, read"), "right", wide=1.6),
    )
    caption = say("Heaps: foreseen from what went in, before any reading")
    return Table(caption, columns, rows, say("The band holds the scatter of a thermometer reading too."))


def _harvests(facts: SeasonFacts, units: Units) -> Table:
    rows: list[Sequence[Line]] = [
        (
            one.name,
            units.mass(one.foreseen.median),
            say("{low} to {high}", low=units.mass(one.foreseen.low), high=units.mass(one.foreseen.high)),
            Say(units.mass(one.measured), harvest_trace(one)),
            _yes(one.inside),
        )
        for one in facts.harvests
    ]
    columns = (
        Column(say("Planting"), wide=2.0),
        Column(say("Expected"), "right"),
        Column(say("Published range"), "right"),
        Column(say("Picked"), "right"),
        Column(say("Within"), "right"),
    )
    note = say("Expected: the garden's own figure or the published typical yield, on the area planted.")
    return Table(say("Harvests of finished plantings"), columns, rows, note)


def _yes(held: bool) -> str:
    return say("yes") if held else say("no")


def _hottest(told: object, read_c: float, units: Units) -> str:
    foreseen = told.peak_c.median  # type: ignore[attr-defined]
    if units.system == "us":
        return f"{foreseen * 1.8 + 32:.0f}, {read_c * 1.8 + 32:.0f} °F"
    return f"{foreseen:.0f}, {read_c:.0f} °C"


def _soil(facts: SeasonFacts) -> list[Block]:
    if not facts.soils:
        return [
            Para(
                say(
                    "No bed was tested twice in the same way, so no change of a soil can be told. Test again at the same time of year, at the same laboratory."
                )
            )
        ]
    rows: list[Sequence[Line] | Say] = []
    for bed, first, last in dict.fromkeys((one.bed, one.first, one.last) for one in facts.soils):
        rows.append(Say(say("{bed}, {first} and {last}", bed=facts.garden.bed(bed).name, first=first, last=last)))
        rows += [_soil_row(facts, one) for one in facts.soils if (one.bed, one.first, one.last) == (bed, first, last)]
    columns = (
        Column(say("Figure"), wide=2.2),
        *(Column(name, "right", wide=0.9) for name in (say("Before"), say("After"), say("Change"))),
        Column(say("Foreseen (90 % band)"), "right", wide=1.9),
        Column(say("Held"), wide=0.6),
        Column(say("More than scatter"), wide=1.1),
    )
    parts: list[Block] = []
    if facts.soil_pairs:
        parts.append(Figure(soil_chart(facts), printed=soil_chart(facts, paper=True)))
    parts.append(Table(say("The same figure on two days"), columns, rows, SOIL_NOTE))
    if not facts.soil_pairs:
        parts.append(Para(say("None of these figures could be foreseen, so no soil forecast can be judged.")))
    return parts


SOIL_NOTE = say(
    "Foreseen by the bed model from the first test, with what was spread, planted and measured of the weather in between; the band holds the scatter of both "
    "tests, of yields and of the weather. Scatter: Horwitz' curve and sampling. Tests on different days of the year differ by themselves."
)


def _soil_row(facts: SeasonFacts, one: SoilChange) -> tuple[Line, ...]:
    known, unit = quantity(one.key), soil_unit(one.key)
    before, after = (float(from_si(value, unit)) for value in (one.before, one.after))
    change = joined("", ("+" if after > before else "", number(after - before, 2)))
    shown = unit_words(unit)
    label = known.label if shown in ("", known.label) else joined(", ", (known.label, shown))
    told = next((each for each in facts.soil_pairs if (each.of, each.key) == (one.bed, one.key)), None)
    return (
        label,
        number(before),
        number(after),
        Say(change, soil_trace(one)),
        "–" if told is None else _with_range(told.foreseen),
        "–" if told is None else _yes(told.inside),
        _yes(one.beyond),
    )


def _with_range(band: Band) -> str:
    """Return the middle and the ends of a band without its unit."""
    return say("{middle} ({range})", middle=number(band.median), range=range_text(band))


def _saved(facts: SeasonFacts, shop: Sequence[Fertiliser]) -> list[Block]:
    if facts.moved is None:
        return [Para(say("No load was written down: nothing can be said of what was saved."))]
    account = _account(facts, facts.moved, shop)
    rows: list[Sequence[Line]] = [
        (Say(one.what, strong=True), Say(one.text, claim_trace(one.key)), Say(one.rests_on, soft=True))
        for one in claims_of(account)
    ]
    columns = (
        Column(say("What"), wide=1.3),
        Column(say("How much (90 % band)"), wide=1.2),
        Column(say("Rests on"), wide=3.0),
    )
    figures: list[Block] = (
        [
            Figure(donors_chart(account), origin=claim_trace("mass")),
            Figure(gases_chart(account), origin=gases_trace(account)),
        ]
        if account.gathered.lots
        else []
    )
    return [
        *([Grid(figures)] if figures else []),
        *(Notice(one) for one in account.gathered.findings),
        Table(say("Each figure with what it rests on"), columns, rows),
    ]


def _account(facts: SeasonFacts, moved: Moved, shop: Sequence[Fertiliser]) -> Account:
    info, climate = facts.garden.info, facts.garden.climate
    setting = Setting(climate_zone(climate.mean_temp_c, climate.rain_mm), seed=info.seed, draws=info.draws)
    return Account(
        facts.garden,
        gather(facts.garden, facts.prepared.compositions, facts.prepared.soils, moved),
        setting,
        tuple(shop),
    )


def _learnt(facts: SeasonFacts) -> list[Block]:
    no_report = say("No material has a laboratory report: every composition is what has been published of its kind.")
    parts: list[Block] = [_moved(facts) if facts.learnt else Para(no_report)]
    if facts.calibration is not None:
        heap, found = facts.calibration
        intro = say(
            "The heap model, told the thermometer of {heap}: typical miss {before:.1f} K before, {after:.1f} K after.",
            heap=heap, before=found.misfit_before, after=found.misfit_after,
        )  # fmt: skip
        none = say("The readings moved none of its numbers by more than they can tell.")
        parts += [Para(intro), Items([*found.words] or [none])]
    return parts


def _moved(facts: SeasonFacts) -> Table:
    rows: list[Sequence[Line]] = []
    for one in facts.learnt:
        label, unit = quantity(one.key).label.lower(), unit_words(one.after.unit)
        what = joined(" ", (label, unit)) if unit else label
        after = Say(_with_range(one.after), f"composition/{one.material}/{one.key}")
        name = joined(", ", (facts.garden.material(one.material).name, what))
        rows.append((name, _with_range(one.before), after, _narrower(one)))
    columns = (
        Column(say("Figure"), wide=2.2),
        Column(say("Published"), "right", wide=1.4),
        Column(say("With the reports"), "right", wide=1.4),
        Column(say("Band"), wide=1.0),
    )
    return Table(say("Compositions that reports moved"), columns, rows)


def _narrower(one: Learnt) -> str:
    """Return how much narrower reports made a band."""
    less = 1.0 - (one.after.high - one.after.low) / max(one.before.high - one.before.low, 1e-12)
    if abs(less) < 0.005:
        return say("as before")
    share = abs(100 * less)
    return say("{share:.0f} % narrower", share=share) if less > 0 else say("{share:.0f} % wider", share=share)
