"""A material and what it is worth: label grade now and in the long run, bands, limits, what it rests on, what became of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from loamery.evidence.cautions import cautions_for
from loamery.evidence.charts_material import shown_keys
from loamery.evidence.materials import answers_for, label_band, planned_uses
from loamery.finding import Band, by_severity
from loamery.garden.model import Material
from loamery.garden.report import LabReport
from loamery.lab.composition import Composition
from loamery.lab.label import SIDES, WHENS, label_grade
from loamery.names import LABEL_TERMS, NUTRIENTS, quantity
from loamery.season.plan import MaterialUse
from loamery.web.pages.origin_material import TERM_WORDS, composition_of, grade_text, per_tonne
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import ANSWERS, ORIGINS, colon, named, quantity_name, stuff_name, use_name
from loamery.web.pages.words import Shown, line_of

LEAST_KG = 0.05
AXIS_ROOM = 1.15


def materials(sight: Sight) -> dict[str, Any]:
    """Return the list of materials with what each is worth at a glance."""
    rows = []
    for one in sight.garden.materials:
        composition = composition_of(sight, one.id)
        use = _use(sight, one.id)
        rows.append(
            {
                "name": stuff_name(one.name),
                "href": reverse("pages:material", args=[sight.slug, one.id]),
                "grade": Shown(grade_text(sight, composition), "", f"grade/{one.id}") if composition else "",
                "reports": len(_reports(sight, one.id)),
                "offered": Shown(sight.words.mass(use.offered_kg), "", f"material/{one.id}/offered") if use else "",
                "used": Shown(sight.words.mass(use.collected_kg), "", f"material/{one.id}/fetched") if use else "",
                "got": _taken_in(sight, one.id),
                "stop": any(each.code == "material_barred" and each.about == one.name for each in _findings(sight)),
            }
        )
    return {"rows": rows}


def material(sight: Sight, one: Material) -> dict[str, Any]:
    """Return what the page of one material shows."""
    composition, reports, use = composition_of(sight, one.id), _reports(sight, one.id), _use(sight, one.id)
    out: dict[str, Any] = {"material": one, "name": stuff_name(one.name), "reports": [_report(sight, each) for each in reports], "got": _taken_in(sight, one.id),
                           "loads": _loads(sight, one.id), "use": use and _used(sight, use), "offers": _offers(sight, one.id)}  # fmt: skip
    found = [each for each in by_severity(_findings(sight)) if each.about.split(" · ")[0] == one.name]
    out["findings"] = [each for each in found if each.severity != "note"]
    out["notes"] = [each for each in found if each.severity == "note" and each.code != "published_only"]
    uses = [*(planned_uses(use) if use else one.uses), "collect", "store"]
    out["cautions"] = cautions_for(one.kind, uses)
    if composition is None:
        return out
    return {
        **out,
        "worth": [worth(sight, composition, key) for key in NUTRIENTS],
        "grades": grades(sight, composition, reports, stuff_name(one.name)),
        "charts": sight.charts(f"material/{one.id}"),
        "figures": figures(sight, composition, stuff_name(one.name)),
        "limits": limits(sight, composition, reports, stuff_name(one.name)),
    }


def worth(sight: Sight, composition: Composition, key: str) -> dict[str, Any]:
    """Return what a tonne as received holds of one nutrient, as the label counts it, with its band."""
    trace = f"grade/{composition.material}/{key}"
    one = label_band(composition, key, "as_received")
    if one is None:
        return {"term": TERM_WORDS[key], "shown": Shown(_("not known")), "line": None}
    tonne = per_tonne(one)
    shown = sight.words.mass_band(tonne, trace)
    words = _("{what}: {middle}, nine of ten cases between {between}").format(
        what=TERM_WORDS[key], middle=shown.text, between=shown.between
    )
    return {
        "term": TERM_WORDS[key],
        "shown": shown,
        "line": line_of(tonne, 0.0, tonne.high * AXIS_ROOM, words),
    }


def grades(sight: Sight, composition: Composition, reports: Sequence[LabReport], name: str) -> dict[str, Any]:
    """Return the label grades as a table: as each report gives them, and as expected of the next load."""
    rows: list[list[Any]] = []
    sides = {"dry": _("dry"), "as_received": _("as received")}
    whens = {"long_run": _("in the long run (total)"), "today": _("now (available)")}
    for report in reports:
        grade = label_grade(report)
        for when in WHENS:
            for side in SIDES:
                shown = [grade.of(when)[side][LABEL_TERMS[key]] for key in NUTRIENTS]
                if any(one is not None for one in shown):
                    here = f"label/{report.name}/{when}/{side}"
                    cells = [
                        "?" if one is None else Shown(sight.words.number(one), "", f"{here}/{LABEL_TERMS[key]}")
                        for key, one in zip(NUTRIENTS, shown, strict=True)
                    ]
                    rows.append([f"{report.name}{colon()}{whens[when]}, {sides[side]}", *cells])
    for side in SIDES:
        bands = {key: label_band(composition, key, side) for key in NUTRIENTS}
        head = "grade" if side == "as_received" else "composition"
        cells = [_percent(sight, one, f"{head}/{composition.material}/{key}") for key, one in bands.items()]
        rows.append([_("Next load, expected: {when}, {side}").format(when=whens["long_run"], side=sides[side]), *cells])
    heads = [{"name": _("Label grade, %")}, *({"name": term, "right": True} for term in TERM_WORDS.values())]
    note = _(
        "Total counts in the long run; available is what the laboratory's extracts say is there now. A question mark: the report does not say."
    )
    return {
        "caption": _("Label grade of {name}").format(name=name),
        "heads": heads,
        "rows": rows,
        "note": note if reports else "",
        "cards": False,
    }


def _percent(sight: Sight, one: Band | None, trace: str) -> Shown | str:
    if one is None:
        return "?"
    return Shown(sight.words.number(one.median), sight.words.between(one), trace)


def figures(sight: Sight, composition: Composition, name: str) -> dict[str, Any]:
    """Return the figures of a composition as a table."""
    rows: list[list[Any]] = []
    basis = {"dry": _("dry"), "as_received": _("as received")}
    for key in shown_keys(composition):
        one = composition[key]
        shown = sight.words.band(sight.words.units.band(one.band()), f"composition/{composition.material}/{key}")
        side = basis.get(one.basis, "")
        label = quantity_name(key) + (f" ({side})" if side else "")
        rows.append([label, shown, named(ORIGINS, one.origin)])
    heads = [{"name": _("Quantity")}, {"name": _("Expected, with its band"), "right": True}, {"name": _("Rests on")}]
    return {
        "caption": _("Figures of {name}").format(name=name),
        "heads": heads,
        "rows": rows,
        "note": "",
        "cards": False,
    }


def limits(sight: Sight, composition: Composition, reports: Sequence[LabReport], name: str) -> dict[str, Any] | None:
    """Return what is known against the limits of the garden's jurisdiction, None where nothing is."""
    found = answers_for(composition, reports, sight.garden)
    if not found:
        return None
    rows: list[list[Any]] = []
    here = f"limit/{composition.material}"
    for one in found:
        value: Shown | str = _("not measured")
        if one.value is not None:
            between = sight.words.between(one.band) if one.band else ""
            value = Shown(sight.words.number(one.value), between, f"{here}/{one.parameter}/found")
        kind = {"fails": "stop", "unknown": "warn"}.get(one.answer, "")
        answer = Shown("", badge=named(ANSWERS, one.answer), strong=kind or "plain")
        label = quantity_name(one.parameter) + (f", {one.unit}" if one.unit != "mg/kg" else "")
        rows.append([label, value, Shown(sight.words.number(one.limit), "", f"{here}/{one.parameter}/most"), answer])
    heads = [
        {"name": _("Limit, mg/kg")},
        {"name": _("Found"), "right": True},
        {"name": _("At most"), "right": True},
        {"name": _("Answer")},
    ]
    note = _(
        "{rule}. A compliance limit is not a health line; follow local codes and ask a licensed professional."
    ).format(rule=found[0].instrument)
    return {
        "caption": _("Limits and {name}").format(name=name),
        "heads": heads,
        "rows": rows,
        "note": note,
        "cards": False,
    }


def _report(sight: Sight, one: LabReport) -> dict[str, Any]:
    return {
        "name": one.name,
        "lab": one.lab,
        "day": _when(sight, one.sampled_on or one.reported_on),
        "count": len(one.determinations),
        "questions": len(one.questions),
    }


def _when(sight: Sight, iso: str) -> str:
    """Return a day as it was printed in ISO form, in words."""
    try:
        return sight.words.day(date.fromisoformat(iso))
    except ValueError:
        return iso


def _used(sight: Sight, use: MaterialUse) -> dict[str, Any]:
    here, words = f"material/{use.material}", sight.words
    return {
        "offered": Shown(words.mass(use.offered_kg), "", f"{here}/offered"),
        "fetched": Shown(words.mass(use.collected_kg), "", f"{here}/fetched"),
        "left": Shown(words.mass(use.left_kg), "", f"{here}/left"),
        "uses": [
            {"words": use_name(key), "shown": Shown(words.mass(kg), "", f"{here}/use-{key}")}
            for key, kg in use.by_use_kg.items()
            if kg > LEAST_KG
        ],
    }


def _offers(sight: Sight, key: str) -> list[dict[str, Any]]:
    return [
        {
            "donor": sight.garden.donor(one.donor).name,
            "amount": Shown(sight.words.mass(one.kg_per_week), kept=sight.kept(one)),
            "span": _("{first} to {last}").format(
                first=sight.words.short_day(one.first), last=sight.words.short_day(one.last)
            ),
        }
        for one in sight.garden.supplies
        if one.material == key
    ]


def _loads(sight: Sight, key: str) -> list[dict[str, Any]]:
    found = sorted((one for one in sight.garden.loads if one.material == key), key=lambda one: one.on, reverse=True)
    return [
        {
            "day": sight.words.day(one.on),
            "donor": sight.garden.donor(one.donor).name,
            "kg": Shown(sight.words.mass(one.kg), kept=sight.kept(one)),
        }
        for one in found[:8]
    ]


def _taken_in(sight: Sight, key: str) -> Shown:
    kg = sum(one.kg for one in sight.garden.loads if one.material == key)
    return Shown(sight.words.mass(kg), "", f"record/loads/{key}")


def _reports(sight: Sight, key: str) -> tuple[LabReport, ...]:
    return sight.prepared.reports.get(key, ()) if sight.prepared else ()


def _use(sight: Sight, key: str) -> MaterialUse | None:
    return next((one for one in sight.plan.materials if one.material == key), None) if sight.plan else None


def _findings(sight: Sight) -> Iterator[Any]:
    if sight.plan is not None:
        yield from sight.plan.findings
    elif sight.prepared is not None:
        yield from sight.prepared.findings


def unit_of(key: str) -> str:
    """Return the unit people see a quantity in."""
    return quantity(key).display_unit
