"""The start of a season report: what to know first, and what the plan rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from loamery.evidence.block import Block, Column, Facts, Figure, Fold, Items, Line, Notice, Para, Say, Section, Table
from loamery.evidence.palette import Swatch
from loamery.evidence.picture import season_picture
from loamery.evidence.picture_phone import season_phone
from loamery.evidence.text import Units, hours_text, listing, plural, share_text
from loamery.finding import Finding, by_severity
from loamery.say import Said, joined, say
from loamery.season.plan import BedPlan, SeasonPlan
from loamery.words import NBSP, number

MANY = 3
"""From so many findings of one kind on, they are told in one."""
SAID = ("published_only", "partly_published")
"""Findings that the lines on what the plan rests on have told already."""
KIND_WORDS = {
    "short_of_nutrient": say("Shortfalls on {count} beds or nutrients", count=MANY),
    "ceiling_reached": say("{count} ceilings are reached", count=MANY),
    "published_only": say("{count} materials have no laboratory report", count=MANY),
    "question_open": say("{count} questions about laboratory reports are open; the values behind them are not used", count=MANY),
    "extractant_unknown": say("{count} soil values cannot be judged", count=MANY),
    "basis_not_stated": say("{count} reports print no basis", count=MANY),
    "several_samples": say("{count} samples come from files that hold several", count=MANY),
    "non_detect": say("{count} values were not found by the laboratory", count=MANY),
    "bed_untested": say("{count} beds have no soil test", count=MANY),
}  # fmt: skip
"""What findings of one kind are called together; the count is filled in anew."""
OF_ONE_KIND = say("{count} findings of one kind", count=MANY)


def first_section(plan: SeasonPlan, units: Units) -> Section:
    """Return what to know first: key figures, what the plan rests on, findings by severity."""
    of_reports = [one for one in plan.findings if _of_report(plan, one)]
    others = [one for one in plan.findings if one not in of_reports]
    grave = [one for one in others if one.severity != "note"]
    notes = [one for one in others if one.severity == "note" and one.code not in SAID]
    parts: list[Block] = [Para(_summary(plan, units), "lead"), Facts(_facts(plan, units)), *_rests_on(plan)]
    parts += [*gathered(grave), *_reports(plan, of_reports)]
    if notes:
        told = gathered(notes)
        things = plural(len(told), say("more thing"), say("more things"))
        parts.append(Fold(say("{things} good to know", things=things), told))
    return Section(say("What to know first"), "first", parts)


def _of_report(plan: SeasonPlan, one: Finding) -> bool:
    """Tell whether a finding is about the reading of a laboratory report, short of a stop."""
    subjects = {each.name for each in plan.garden.materials} | {each.name for each in plan.garden.beds}
    return one.severity != "stop" and (" · " in one.about or one.about in subjects) and one.code not in SAID


def _reports(plan: SeasonPlan, found: Sequence[Finding]) -> list[Block]:
    """Return what laboratory reports leave to settle, by what they are about; the details stand there."""
    warnings: dict[str, list[Finding]] = {}
    for one in found:
        if one.severity == "warning":
            warnings.setdefault(one.about.split(" · ")[0], []).append(one)
    if not warnings:
        return []
    count = sum(len(one) for one in warnings.values())
    rest = len(found) - count
    names = {one.name: f"material-{one.id}" for one in plan.garden.materials}
    names |= {one.name: f"bed-{one.id}" for one in plan.garden.beds}
    rows = [
        (Say(name, anchor=names.get(name, "")), joined(" ", dict.fromkeys(one.text for one in about)))
        for name, about in warnings.items()
    ]
    remarks, points = (
        plural(rest, say("smaller remark"), say("smaller remarks")),
        plural(count, say("point"), say("points")),
    )
    note = say("{remarks} on the reading of reports stand with the materials and beds.", remarks=remarks)
    title = say("Laboratory reports: {points} to settle with the laboratory", points=points)
    columns = (Column(say("About"), wide=1), Column(say("What was found"), wide=3.4))
    return [Table(title, columns, rows, note if rest else "")]


def gathered(findings: Sequence[Finding]) -> list[Notice]:
    """Return findings by severity, those of one kind that come often told as one with a point for each."""
    kinds: dict[tuple[str, str], list[Finding]] = {}
    for one in by_severity(findings):
        kinds.setdefault((one.code, one.severity), []).append(one)
    out: list[Notice] = []
    for found in kinds.values():
        out += [Notice(one) for one in found] if len(found) < MANY else [_as_one(found)]
    return out


def _as_one(found: Sequence[Finding]) -> Notice:
    first = found[0]
    heads, tails = zip(*(one.text.rstrip(".").partition(": ")[::2] for one in found), strict=True)
    sources = tuple(dict.fromkeys(key for one in found for key in one.sources))
    shared = first.because if len({one.because for one in found}) == 1 else ""
    if all(tails) and len(set(tails)) == 1:
        # Where a sentence parts is known of the English one alone: another language gets them one after another.
        text = Said(f"{listing(list(heads))}: {tails[0]}", parts=joined(" ", (one.text for one in found)).parts)
        return Notice(replace(first, text=text, because=shared, sources=sources))
    words = KIND_WORDS.get(first.code, OF_ONE_KIND)
    told = replace(first, text=say(words.message, count=len(found)), because=shared, sources=sources)
    return Notice(told, [_with_about(one) for one in found])


def _with_about(one: Finding) -> str:
    """Return a finding's text, with what it is about where the text does not say."""
    name = one.about.split(" · ")[0]
    known = not name or name.lower() in one.text.lower() or name == name.lower()
    return one.text if known else say("{name}: {text}", name=name, text=one.text)


def _summary(plan: SeasonPlan, units: Units) -> str:
    spread = [one for one in plan.actions if one.task in ("mulch", "dig_in")]
    fed = {one.target for one in spread}
    collected = sum(one.collected_kg for one in plan.materials)
    batches = plural(len(plan.batches), say("heap batch"), say("heap batches"))
    donors = plural(_donors(plan), say("donor"), say("donors"))
    of_beds = plural(len(plan.beds), say("bed"), say("beds"))
    weeks = plural(plan.calendar.weeks, say("week"), say("weeks"))
    builds = say(", builds {batches}", batches=batches) if plan.batches else ""
    return say(
        "The plan fetches {mass} of material from {donors}{heaps} and feeds or covers {fed} of {beds} over {weeks}.",
        mass=units.mass(collected),
        donors=donors,
        heaps=builds,
        fed=len(fed),
        beds=of_beds,
        weeks=weeks,
    )


def _donors(plan: SeasonPlan) -> int:
    return len({one.target for one in plan.actions if one.task == "collect"})


def _facts(plan: SeasonPlan, units: Units) -> list[tuple[str, Line, str]]:
    offered = sum(one.offered_kg for one in plan.materials)
    collected = sum(one.collected_kg for one in plan.materials)
    free = sum(one.collected_kg for one in plan.materials if one.spent == 0)
    busiest = max(range(len(plan.hours)), key=lambda week: plan.hours[week], default=0)
    facts: list[tuple[str, Line, str]] = [
        (
            say("Fetched"),
            units.mass(collected),
            say("{share} of what is offered", share=share_text(collected / offered) if offered else "0"),
        ),
        (
            say("of it free"),
            units.mass(free),
            say("spent on the rest: {money}", money=joined(NBSP, (number(plan.money, 3), plan.garden.info.currency))),
        ),
        (say("Nitrogen need met"), share_text(met_share(plan.beds)), say("soil and materials, weighted by area")),
        (
            say("Work"),
            hours_text(sum(plan.hours)),
            say(
                "busiest: week of {week}, {hours}",
                week=plan.calendar.label(busiest),
                hours=hours_text(max(plan.hours, default=0.0)),
            ),
        ),
    ]
    return facts


def met_share(beds: Sequence[BedPlan]) -> float:
    """Return the share of the nitrogen that crops need over the season that the plan and the soil supply."""
    need = sum(one.need["N"] * one.need_data.bed.area_m2 for one in beds)
    short = sum(one.short["N"] * one.need_data.bed.area_m2 for one in beds)
    return 1.0 - short / need if need > 0 else 1.0


def _rests_on(plan: SeasonPlan) -> list[Block]:
    materials, beds = plan.garden.materials, plan.beds
    tested = [one for one in materials if plan.reports.get(one.id)]
    soils = [one for one in beds if one.need_data.test.values]
    count = sum(len(one) for one in plan.reports.values())
    of_materials = plural(len(materials), say("material"), say("materials"))
    with_reports = plural(count, say("report"), say("reports"))
    of_beds = plural(len(beds), say("bed"), say("beds"))
    lines: list[Line] = [
        (
            Say(say("What the plan rests on. "), strong=True),
            say(
                "{tested} of {materials} have a laboratory report ({reports}); {soils} of {beds} have a soil test.",
                tested=len(tested),
                materials=of_materials,
                reports=with_reports,
                soils=len(soils),
                beds=of_beds,
            ),
        )
    ]
    untested = [one.name.lower() for one in materials if one not in tested]
    if untested and tested:
        lines.append(say("Published ranges alone, with wider bands: {untested}.", untested=listing(untested)))
    if not tested:
        none_yet = say(
            "No laboratory report yet. Every figure about a material is a published range, so the bands are wide. Each report "
            "that arrives narrows them and may change the plan."
        )
        lines.append(none_yet)
    if bare := [one.name for one in beds if one not in soils]:
        lines.append(say("No soil test, a medium soil is assumed: {bare}.", bare=listing(bare)))
    return [Items(lines)]


def picture_section(plan: SeasonPlan, looks: dict[str, Swatch], units: Units) -> Section:
    """Return what goes where and when, as a picture with its key."""
    picture = replace(season_picture(plan, looks), phone=season_phone(plan, looks, units))
    return Section(
        say("What goes where and when"),
        "picture",
        (Figure(picture, printed=season_picture(plan, looks, paper=True)),),
        fresh=True,
    )
