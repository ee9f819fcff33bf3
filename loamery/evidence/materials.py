"""What each material is worth: composition, label grade, limits, uses, cautions; the same on a page of its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from loamery.evidence.block import Block, Column, Figure, Fold, Grid, Items, Line, Notice, Para, Say, Section, Table
from loamery.evidence.cautions import cautions_for
from loamery.evidence.charts_material import composition_chart, shown_keys, use_words, uses_chart
from loamery.evidence.text import SEVERITY_WORDS, Units, listing, plural
from loamery.finding import Band, Finding, Ledger, by_severity
from loamery.garden.model import Garden
from loamery.garden.report import LabReport
from loamery.lab.composition import Composition
from loamery.lab.label import SIDES, WHENS, label_grade
from loamery.lab.limits import CAUTION, LimitAnswer, judge_limits
from loamery.names import LABEL_TERMS, NUTRIENTS, quantities, quantity
from loamery.reference import table
from loamery.say import joined, say
from loamery.season.plan import MaterialUse, SeasonPlan
from loamery.uncertain import band
from loamery.units import to_compound
from loamery.words import NBSP, number, range_text, unit_words

SIDE_WORDS = {"dry": say("dry"), "as_received": say("as received")}
WHEN_WORDS = {"long_run": say("Total"), "today": say("Available")}
REST_WORDS = {"measured and published": say("both"), "measured": say("reports"), "derived": say("derived")}
ANSWER_WORDS = {"passes": say("passes"), "fails": say("fails"), "unknown": say("not\u00a0known")}
TERM_WORDS = ("N", "P₂O₅", "K₂O")


def materials_section(plan: SeasonPlan, units: Units) -> Section:
    """Return the balance of all materials, then each by itself."""
    parts: list[Block] = [Figure(uses_chart(plan, units)), _balance(plan, units)]
    for one in plan.materials:
        composition = plan.compositions[one.material]
        reports = plan.reports.get(one.material, ())
        found = [each for each in by_severity(plan.findings) if each.about.split(" · ")[0] == one.name]
        inner = material_parts(composition, one.name, reports, plan.garden, units, planned_uses(one), found)
        anchor = f"material-{one.material}"
        parts.append(Section(one.name, anchor, [Para(_used(plan, one, units), "soft"), *inner], fresh=True))
    return Section(say("Materials"), "materials", parts, fresh=True)


def planned_uses(one: MaterialUse) -> list[str]:
    """Return what is done with a material, as the caution table names it."""
    uses = [use for use, kg in one.by_use_kg.items() if kg > 0.05]
    return [*uses, *(["collect", "store"] if one.collected_kg > 0 else [])]


def _balance(plan: SeasonPlan, units: Units) -> Table:
    rows: list[Sequence[Line]] = []
    for one in sorted(plan.materials, key=lambda one: -one.offered_kg):
        used = sum(one.by_use_kg.values())
        uses = joined(
            ", ", (joined(" ", (use_words(use), units.mass(kg))) for use, kg in one.by_use_kg.items() if kg > 0.05)
        )
        rows.append(
            (
                (
                    Say(one.name, anchor=f"material-{one.material}"),
                    Say(joined("", (", ", _donors(plan.garden, one.material))), soft=True),
                ),
                units.mass(one.offered_kg),
                units.mass(one.collected_kg),
                uses or say("none"),
                units.mass(max(one.collected_kg - used, 0.0)),
                units.mass(one.left_kg),
            )
        )
    columns = (
        Column(say("Material and donor"), wide=2.2),
        Column(say("Offered"), "right", wide=0.9),
        Column(say("Fetched"), "right", wide=0.9),
        Column(say("Used"), wide=1.7),
        Column(say("Kept"), "right", wide=0.8),
        Column(say("Left"), "right", wide=0.8),
    )
    return Table(say("Materials over the season, as received"), columns, rows)


def _donors(garden: Garden, material: str) -> str:
    keys = dict.fromkeys(one.donor for one in garden.supplies if one.material == material)
    return listing([garden.donor(key).name for key in keys])


def _used(plan: SeasonPlan, one: MaterialUse, units: Units) -> str:
    uses: list[str] = [joined(" ", (units.mass(kg), use_words(use))) for use, kg in one.by_use_kg.items() if kg > 0.05]
    nothing = say("no use for it")
    told = say(
        "From {donors}: {offered} offered, {fetched} fetched. In the plan: {uses}.",
        donors=_donors(plan.garden, one.material),
        offered=units.mass(one.offered_kg),
        fetched=units.mass(one.collected_kg),
        uses=listing(uses) if uses else nothing,
    )
    if one.spent <= 0:
        return told
    money = f"{number(one.spent, 3)}{NBSP}{plan.garden.info.currency}"
    return joined(" ", (told, say("It costs {money}.", money=money)))


def material_parts(
    composition: Composition,
    name: str,
    reports: Sequence[LabReport],
    garden: Garden | None,
    units: Units,
    uses: Sequence[str],
    findings: Sequence[Finding],
    *,
    brief: bool = False,
) -> list[Block]:
    """Return everything about one material.

    Parameters
    ----------
    reports : its laboratory reports; none when there is none yet.
    garden : whose limits apply; None shows no limits.
    uses : of this material, as the caution table names them.
    findings : about this material; brief: warnings in a list, notes left out.
    """
    parts: list[Block] = [Para(_rests_on(reports))]
    parts.append(Grid([Figure(composition_chart(composition, name, units)), _grades(composition, reports, name)]))
    if brief:  # the chart prints the figures; a page has no room to say them twice
        parts += _limits_told(composition, reports, garden)
    else:
        figures = _figures(composition, name, units, shown_keys(composition))
        parts.append(Grid([figures, *_limits(composition, reports, garden, name)]))
    parts += _told(findings, name, brief)
    parts += caution_list(composition.kind, uses)
    return parts


def _told(findings: Sequence[Finding], name: str, brief: bool) -> list[Block]:
    """Return what was found about a material's figures."""
    grave = [one for one in findings if one.severity != "note"]
    if brief:
        lines: list[Line] = [(_grade_word(one), one.text) for one in grave]
        return [Para(Say(say("On the figures"), strong=True)), Items(lines)] if lines else []
    parts: list[Block] = [Notice(one) for one in grave]
    notes = [Notice(one) for one in findings if one.severity == "note" and one.code != "published_only"]
    if notes:
        remarks = plural(len(notes), say("remark"), say("remarks"))
        parts.append(Fold(say("{remarks} on the figures of {name}", remarks=remarks, name=name.lower()), notes))
    return parts


def label_traces(reports: Iterable[LabReport]) -> Ledger:
    """Return where the label grades of reports come from."""
    ledger = Ledger()
    for report in reports:
        ledger.merge({one.id: one for one in label_grade(report).traces})
    return ledger


def caution_list(kind: str, uses: Sequence[str]) -> list[Block]:
    """Return the cautions for a material in its uses as a short list; their reasons stand in the collected cautions."""
    found = cautions_for(kind, uses)
    lines: list[Line] = [(_grade_word(one), one.text) for one in found]
    return [Para(Say(say("Cautions"), strong=True)), Items(lines)] if lines else []


def _grade_word(one: Finding) -> Say:
    return Say(say("{word}: ", word=SEVERITY_WORDS[one.severity]), strong=True)


def _rests_on(reports: Sequence[LabReport]) -> Line:
    if not reports:
        return (
            Say(say("No laboratory report yet. "), strong=True),
            say("All figures are published ranges of this kind of material."),
        )
    told = [
        say("{name} (invented)", name=one.name) if one.invented and "(invented)" not in one.name else one.name
        for one in reports
    ]
    count = plural(len(reports), say("laboratory report"), say("laboratory reports"))
    return say(
        "Rests on {reports} and on published ranges: {names}.",
        reports=count,
        names=listing(told),
    )


def _grades(composition: Composition, reports: Sequence[LabReport], name: str) -> Table:
    rows: list[Sequence[Line] | Say] = []
    for report in reports:
        grade = label_grade(report)
        rows.append(Say(say("As reported, {name}", name=report.name)))
        for when in WHENS:
            for side in SIDES:
                shown = [grade.of(when)[side][LABEL_TERMS[key]] for key in NUTRIENTS]
                if any(one is not None for one in shown):
                    here = f"label/{report.name}/{when}/{side}"
                    figures = [
                        "?" if one is None else Say(number(one), f"{here}/{LABEL_TERMS[key]}")
                        for key, one in zip(NUTRIENTS, shown, strict=True)
                    ]
                    rows.append((_when_and_side(when, side), *figures))
    rows.append(Say(say("Expected in the next load")))
    for side in SIDES:
        bands = {key: label_band(composition, key, side) for key in NUTRIENTS}
        traces = {key: f"composition/{composition.material}/{key}" for key in NUTRIENTS}
        medians = [Say("?" if one is None else number(one.median), traces[key]) for key, one in bands.items()]
        rows.append((_when_and_side("long_run", side), *medians))
        rows.append(
            (
                Say(say("90 % band"), soft=True),
                *(Say(range_text(one) if one else "", soft=True) for one in bands.values()),
            )
        )
    columns = (Column(say("Label grade, %"), wide=1.7), *(Column(one, "right") for one in TERM_WORDS))
    note = say(
        "Total: in the long run. Available: today, as far as the laboratory's extracts say. A question mark: the report does not say."
    )
    return Table(say("Label grade of {name}", name=name.lower()), columns, rows, note if reports else "")


def _when_and_side(when: str, side: str) -> str:
    return joined(", ", (WHEN_WORDS[when], SIDE_WORDS[side]))


def label_band(composition: Composition, key: str, side: str) -> Band | None:
    """Return N, P2O5 or K2O of a composition in percent, dry or as received, with its band; None when not known."""
    if key not in composition:
        return None
    draws = composition.draws(key)
    if side == "as_received":
        draws = draws * (1.0 - composition.draws("moisture"))
    term = LABEL_TERMS[key]
    return band(draws, "%", 100.0 * (1.0 if term == key else to_compound(key, term)))


def limit_key(garden: Garden) -> str:
    """Return the limit for what is spread that the garden's jurisdiction sets."""
    row = next(row for row in table("jurisdictions") if row["key"] == garden.info.jurisdiction)
    return row["compost_limits"].split(";")[0]


def answers_for(composition: Composition, reports: Sequence[LabReport], garden: Garden) -> list[LimitAnswer]:
    """Return what is known against each limit: the latest report that says something, else the composition."""
    key = limit_key(garden)
    best = {one.parameter: one for one in judge_limits(composition, key) if one.value is not None}
    for report in sorted(reports, key=lambda one: one.sampled_on or one.reported_on):
        best |= {one.parameter: one for one in judge_limits(report, key) if one.value is not None}
    return list(best.values())


def _limits_told(composition: Composition, reports: Sequence[LabReport], garden: Garden | None) -> list[Block]:
    """Return in a sentence how a material stands against the limits of a garden."""
    found = answers_for(composition, reports, garden) if garden is not None else []
    if not found:
        return []
    words = ANSWER_WORDS | {"unknown": say("not known (not measured, or the band reaches over the limit)")}
    names = {
        answer: [_limit_name(one.parameter).lower() for one in found if one.answer == answer]
        for answer in ("fails", "passes", "unknown")
    }
    told = [say("{answer}: {names}", answer=words[key], names=listing(some)) for key, some in names.items() if some]
    semicolon = say("; ")
    text = say(
        "{instrument}: {answers}. A compliance limit is not a health line; follow local codes.",
        instrument=found[0].instrument,
        answers=joined(semicolon, told),
    )
    return [Para((Say(say("Legal limits. "), strong=True), text))]


def _limits(composition: Composition, reports: Sequence[LabReport], garden: Garden | None, name: str) -> list[Block]:
    if garden is None:
        return []
    found = answers_for(composition, reports, garden)
    if not found:
        return [Para(say("Nothing is known of this material that a legal limit speaks of."), "soft")]
    rows: list[Sequence[Line]] = [
        (
            _limit_name(one.parameter)
            if one.unit == "mg/kg"
            else joined(", ", (_limit_name(one.parameter), unit_words(one.unit))),
            _limit_value(one, composition),
            number(one.limit),
            Say(ANSWER_WORDS[one.answer], strong=one.answer == "fails"),
        )
        for one in found
    ]
    columns = (
        Column(say("Limit, mg/kg"), wide=1.2),
        Column(say("Found"), "right", wide=1.7),
        Column(say("At most"), "right", wide=0.8),
        Column(say("Answer")),
    )
    notes = [f"{found[0].instrument}."]
    if any(one.answer == "unknown" for one in found):
        notes.append(
            say(
                "Not known: nothing was measured, the band straddles the limit, or the laboratory cannot see so little."
            )
        )
    title = say("Limits and {name}", name=name.lower())
    return [Table(title, columns, rows, joined(" ", [*notes, CAUTION]))]


def _limit_name(parameter: str) -> str:
    return quantities()[parameter].label if parameter in quantities() else parameter.replace("_", " ")


def _limit_value(one: LimitAnswer, composition: Composition) -> Line:
    if one.value is None:
        return say("not measured")
    if one.band is None:
        below = "below the reporting limit" in one.because
        return say("below {value}", value=number(one.value)) if below else number(one.value)
    shown = say("{middle} ({range})", middle=number(one.value), range=range_text(one.band))
    return Say(shown, f"composition/{composition.material}/{one.parameter}")


def _figures(composition: Composition, name: str, units: Units, keys: Sequence[str]) -> Table:
    rows: list[Sequence[Line]] = []
    for key in keys:
        one = composition[key]
        shown = units.band(one.band())
        label = quantity(one.quantity).label
        if key.endswith(":extractable"):
            label = say("{quantity} (extractable)", quantity=label)
        about = joined(", ", filter(None, (unit_words(shown.unit), SIDE_WORDS.get(one.basis, ""))))
        rows.append(
            (
                (label, Say(joined("", (", ", about)) if about else "", soft=True)),
                Say(number(shown.median), f"composition/{composition.material}/{key}"),
                range_text(shown),
                REST_WORDS.get(one.origin, one.origin),
            )
        )
    columns = (
        Column(say("Quantity"), wide=2.1),
        Column(say("Expected"), "right", wide=1.1),
        Column(say("Band"), "right", wide=1.4),
        Column(say("Rests on"), wide=0.9),
    )
    note = say("Both: reports and published ranges.")
    return Table(
        say("Figures of {name}", name=name.lower()),
        columns,
        rows,
        note if any(one[3] == "both" for one in rows) else "",
    )


def worth_line(composition: Composition) -> str:
    """Return in one sentence what a tonne of a material holds, as received."""
    found: Mapping[str, Band | None] = {key: label_band(composition, key, "as_received") for key in NUTRIENTS}
    parts = [
        f"{number(10 * one.median, 2)}{NBSP}kg {term}"
        for term, one in zip(TERM_WORDS, found.values(), strict=True)
        if one is not None
    ]
    return say("A tonne as received holds about {parts}.", parts=listing(parts))
