"""What every bed needs, gets and may take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from loamery.bed.demand import crop_name
from loamery.bed.soil import class_source
from loamery.evidence.block import Block, Column, Figure, Grid, Items, Line, Notice, Para, Say, Section, Table
from loamery.evidence.charts_bed import ceiling_chart, ceiling_name, need_charts, nitrogen_chart
from loamery.evidence.charts_course import course_chart, course_line
from loamery.evidence.palette import Swatch
from loamery.evidence.text import USE_WORDS, Units, listing, sentence, share_text, short_day
from loamery.finding import Band, Finding, by_severity
from loamery.garden.report import Determination
from loamery.names import quantity
from loamery.say import Said, joined, say
from loamery.season.bed_course import BedCourse, bed_courses
from loamery.season.plan import BedPlan, Given, SeasonPlan
from loamery.units import from_si
from loamery.words import number, quantity_text, range_text

TOLD, AT_CEILING = 0.1, 0.98
"""Trace elements below the first share of their ceiling are told in a line; from the second on a ceiling is reached."""
IN_MG_KG = ("nutrient", "salt", "micronutrient", "trace element")
"""Families whose soil values are printed in mg/kg; conductivity has its own unit."""
SHOWN_NOTES = ("short_of_nutrient",)
TOLD_SHORT = 0.05
"""Shortfalls below this share of the need are not told."""
UNSAID = (*SHOWN_NOTES, "several_samples")

_READING: tuple[Line, ...] = (
    (
        Say(say("Needed and supplied. "), strong=True),
        say(
            "Each bar is what the bed gets, by material, with its letters from the key of the picture; brown is the "
            "soil itself, the black mark is the need, the thin line the band. Phosphorus and potassium needed are what the harvest removes, "
            "less on a rich soil, more on a poor one."
        ),
    ),
    (
        Say(say("Nitrogen week by week. "), strong=True),
        say(
            "Added up from the start: brown from the soil, green from materials, dashed what the "
            "crops have taken up. Where the dashed line runs above the green, nitrogen is short at that time."
        ),
    ),
    (
        Say(say("The season as the bed model foresees it. "), strong=True),
        say(
            "Above, green: nitrogen all materials give in a week; rust: what decomposers take out of the soil. Below: dashed what the crops ask for, "
            "green what they get, brown what the soil gives by itself."
        ),
    ),
    (
        Say(say("How near the ceilings. "), strong=True),
        say(
            "Bar: what counts against the most the bed may take this season, each material taken as rich as nearly all its loads are; rust is at the "
            "ceiling. The thin line is the band of what it will be, mostly well below: not all loads are rich at once."
        ),
    ),
)
"""How to read the charts that every bed repeats."""


def beds_section(plan: SeasonPlan, looks: dict[str, Swatch], units: Units) -> Section:
    """Return one part for each bed."""
    intro = say(
        "Nutrients are in {unit} of the whole bed, counted as the element. Bands hold nine of ten cases: "
        "they come from the spread of compositions, of decay and of how much plants can use. Nitrogen supplied is what becomes "
        "available this season, not all that is in the material.",
        unit=units.name("nutrient rate"),
    )
    courses = bed_courses(plan) if plan.beds else {}
    parts: list[Block] = [
        Para(intro, "soft"),
        Items(_READING),
        _glance(plan, units),
        *(bed_part(plan, one, looks, units, courses.get(one.id)) for one in plan.beds),
    ]
    return Section(say("Bed by bed"), "beds", parts, fresh=True)


def bed_part(
    plan: SeasonPlan, bed: BedPlan, looks: dict[str, Swatch], units: Units, course: BedCourse | None = None
) -> Section:
    """Return everything about one bed.

    Parameters
    ----------
    course : its season as the bed model foresees it; left out when None.
    """
    parts: list[Block] = [Para(_facts(bed, units), "soft")]
    parts += [Notice(one) for one in _shortfalls_as_one(bed_findings(plan, bed))]
    course_of_n = Figure(nitrogen_chart(plan, bed, units), brief=True)
    parts += [
        Grid(
            [
                Figure(need_charts(plan, bed, looks, units), brief=True),
                Section("", "", [course_of_n, _needs(bed, units)]),
            ]
        ),
        _given(bed, units),
    ]
    if course is not None:
        shown, printed = (course_chart(plan, bed, course, units, paper=paper) for paper in (False, True))
        parts += [Figure(shown, brief=True, printed=printed), Para(course_line(course, units))]
    ceilings: list[Block] = (
        [Figure(ceiling_chart(bed, units), brief=True)] if any(one.share > 0 for one in bed.ceilings) else []
    )
    parts.append(Grid([*ceilings, _soil(plan, bed)]))
    parts += _ceilings(bed, units)
    return Section(bed.name, f"bed-{bed.id}", parts, fresh=True, fit=True)


def _glance(plan: SeasonPlan, units: Units) -> Table:
    """Return all beds in one table: what each gets, how well it is covered and what it is short of."""
    rows: list[Sequence[Line]] = []
    for bed in plan.beds:
        given = (
            joined(
                ", ",
                (say("{name} {amount}", name=one.stuff_name.lower(), amount=units.mass(one.kg)) for one in bed.given),
            )
            if bed.given
            else say("nothing")
        )
        short = [
            f"{key} {number(units.g_m2(one), 2)}"
            for key, one in bed.short.items()
            if one > TOLD_SHORT * max(bed.need[key], 1e-9)
        ]
        rows.append(
            (Say(bed.name, anchor=f"bed-{bed.id}"), given, share_text(bed.cover_share), ", ".join(short) or say("no"))
        )
    columns = (
        Column(say("Bed"), wide=1.2),
        Column(say("Gets in the season"), wide=3),
        Column(say("Covered"), "right", wide=0.7),
        Column(say("Short"), "right", wide=1),
    )
    note = say(
        "Covered: share of the mulch wanted on growing crops. Short: {unit} missing at the end of the season.",
        unit=units.name("nutrient rate"),
    )
    return Table(say("Beds at a glance"), columns, rows, note)


def bed_findings(plan: SeasonPlan, bed: BedPlan) -> list[Finding]:
    """Return what has to be known of one bed: stops, warnings, shortfalls and ceilings."""
    about = [one for one in plan.findings if one.about == bed.id or one.about.split(" · ")[0] == bed.name]
    return [one for one in by_severity(about) if one.severity != "note" or one.code in SHOWN_NOTES]


def _shortfalls_as_one(findings: Sequence[Finding]) -> list[Finding]:
    """Return findings with the shortfalls of one severity told in one sentence."""
    out: list[Finding] = []
    for one in findings:
        before = out[-1] if out else None
        if before and one.code == "short_of_nutrient" and (before.code, before.severity) == (one.code, one.severity):
            # where a sentence parts is known of the English one alone: another language gets them one after another
            also = one.text.partition(": ")[2] or one.text
            text = Said(f"{before.text.rstrip('.')}; {also}", parts=joined(" ", (before.text, one.text)).parts)
            reasons = [part for part in (before.because, one.because) if part]
            because = Said("; ".join(part.rstrip(".") for part in reasons), parts=joined("; ", reasons).parts)
            sources = tuple(dict.fromkeys((*before.sources, *one.sources)))
            out[-1] = replace(before, text=text, because=because, sources=sources)
        else:
            out.append(one)
    return out


def _facts(bed: BedPlan, units: Units) -> Line:
    one = bed.need_data.bed
    crops: list[str] = []
    for each in bed.need_data.plantings:
        words = {
            "crop": crop_name(each.crop).lower(),
            "first": short_day(each.planted),
            "last": short_day(each.harvested),
        }
        crops.append(
            say("{crop} {first} to {last} on {share} of it", **words, share=share_text(each.share))
            if each.share < 1
            else say("{crop} {first} to {last}", **words)
        )
    return say(
        "{area} of {texture}, worked {depth} deep. Crops: {crops}.",
        area=units.amount(one.area_m2, "area"),
        texture=one.texture,
        depth=units.amount(one.depth_m, "depth"),
        crops=listing(crops) if crops else say("nothing planted"),
    )


def _rate(band: Band, units: Units) -> str:
    shown = units.rate(band)
    return f"{number(shown.median)} ({range_text(shown)})"


def _needs(bed: BedPlan, units: Units) -> Table:
    rows: list[Sequence[Line]] = []
    for key in "NPK":
        here = f"bed/{bed.id}"
        soil: Line = Say(number(units.g_m2(bed.soil_n[-1])), f"{here}/soil/N") if key == "N" else say("in the need")
        short = units.g_m2(bed.short[key])
        rows.append(
            (
                quantity(key).label,
                Say(number(units.g_m2(bed.need[key])), f"{here}/need/{key}"),
                soil,
                Say(_rate(bed.supplied[key], units), f"{here}/supply/{key}"),
                Say(number(short, 2), f"{here}/supply/{key}", strong=True) if short > 0.005 else say("no"),
            )
        )
    columns = (
        Column(say("Nutrient"), wide=1.2),
        Column(say("Needed"), "right"),
        Column(say("From the soil"), "right", wide=0.9),
        Column(say("From materials (band)"), "right", wide=1.7),
        Column(say("Short"), "right", wide=0.9),
    )
    return Table(say("Nutrients, {unit}", unit=units.name("nutrient rate")), columns, rows)


def _given(bed: BedPlan, units: Units) -> Block:
    if not bed.given:
        return Para(say("Nothing is spread on this bed."))
    rows = [_given_row(one, units) for one in bed.given]
    columns = (
        Column(say("From"), wide=1.9),
        Column(say("Weight"), "right", wide=0.8),
        Column("N", "right", wide=1.3),
        Column("P", "right", wide=1.3),
        Column("K", "right", wide=1.3),
    )
    note = say("A nitrogen below zero: decay of this material takes nitrogen from the soil for a while.")
    below = any(one.n.median < 0 for one in bed.given)
    title = say("Supplied from, {unit} with bands", unit=units.name("nutrient rate"))
    return Table(title, columns, rows, note if below else "")


def _given_row(one: Given, units: Units) -> Sequence[Line]:
    return (
        (one.stuff_name, Say(joined(", ", ("", USE_WORDS.get(one.use, one.use))), soft=True)),
        units.mass(one.kg),
        *(_rate(band, units) for band in (one.n, one.p, one.k)),
    )


def _soil(plan: SeasonPlan, bed: BedPlan) -> Block:
    test = bed.need_data.test
    if not test.values:
        return Para(say("No soil test of this bed. A medium soil is assumed."))
    rows: list[Sequence[Line]] = []
    for key, one in test.values.items():
        found = test.nutrient_class(key)
        rows.append(
            (
                (quantity(key).label, Say(f", {one.method}" if one.method not in ("", "none") else "", soft=True)),
                Say(_soil_value(one), f"bed/{bed.id}/test/{key}"),
                found.replace("_", " ") if found else "",
            )
        )
    classed = any(class_source(key, one.method) for key, one in test.values.items() if test.nutrient_class(key))
    origin = say("From: {origin}.", origin=listing(list(test.origin)))
    note = joined(
        " ", (origin, *((say("Classes by the table of each extractant."),) if classed else ()), *_remarks(plan, bed))
    )
    columns = (
        Column(say("Soil test"), wide=2.1),
        Column(say("Value"), "right", wide=1.5),
        Column(say("Class"), wide=0.9),
    )
    return Table(say("Soil test of {bed}", bed=bed.name), columns, rows, note)


def _soil_value(one: Determination) -> str:
    if one.value is None:
        return (
            say("not given") if one.limit is None else say("below {limit}", limit=_soil_number(one.quantity, one.limit))
        )
    return _soil_number(one.quantity, one.value)


def _soil_number(key: str, value_si: float) -> str:
    unit = (
        "mg/kg" if quantity(key).is_concentration and quantity(key).family in IN_MG_KG else quantity(key).display_unit
    )
    return quantity_text(float(from_si(value_si, unit)), unit)


def _remarks(plan: SeasonPlan, bed: BedPlan) -> list[str]:
    """Return what the reading of the bed's reports remarked."""
    about = [one for one in plan.findings if one.about.split(" · ")[0] == bed.name and one.severity == "note"]
    return list(dict.fromkeys(Said(sentence(one.text), parts=(one.text,)) for one in about if one.code not in UNSAID))


def _ceilings(bed: BedPlan, units: Units) -> list[Block]:
    """Return the ceilings that matter as a table, the others in a line."""
    near = [one for one in bed.ceilings if one.share >= TOLD or one.ceiling.key in ("P", "K", "salt")]
    far = [one for one in bed.ceilings if one not in near and one.load_kg_m2 > 0]
    rows: list[Sequence[Line]] = [
        (
            ceiling_name(one.ceiling.key),
            Say(_small(one.band, units), f"bed/{bed.id}/ceiling/{one.ceiling.key}"),
            _small(_exactly(1000.0 * one.ceiling.limit_kg_m2), units),
            Say(share_text(one.share), strong=one.share >= AT_CEILING),
            Say(one.ceiling.because, soft=True),
        )
        for one in near
    ]
    columns = (
        Column(say("Ceiling"), wide=1.1),
        Column(say("Added (band)"), "right", wide=1.5),
        Column(say("At most"), "right", wide=0.8),
        Column(say("Used"), "right", wide=0.6),
        Column(say("Because"), wide=2.8),
    )
    parts: list[Block] = []
    if rows:
        title = say("Ceilings of {bed}, {unit}", bed=bed.name, unit=units.name("nutrient rate"))
        parts.append(Table(title, columns, rows))
    if far:
        line: list[str | Say] = [say("Below {share} of the ceiling: ", share=share_text(TOLD))]
        for number_, one in enumerate(far):
            line += [", " if number_ else "", say("{name} ", name=ceiling_name(one.ceiling.key).lower())]
            line.append(Say(share_text(one.share), f"bed/{bed.id}/ceiling/{one.ceiling.key}"))
        parts.append(Para((*line, "."), "soft"))
    return parts


def _exactly(grams: float) -> Band:
    return Band(grams, grams, grams, "g/m2")


def _small(band: Band, units: Units) -> str:
    """Return a rate without its unit, the band left out where it has no width."""
    shown = units.rate(band)
    return number(shown.median) if shown.low == shown.high else f"{number(shown.median)} ({range_text(shown)})"
