"""A bed: what it needs, what the plan gives it, what it really got and gave."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from loamery.evidence.beds import bed_findings
from loamery.garden.model import Bed
from loamery.garden.records import Application
from loamery.garden.report import Determination
from loamery.names import quantity
from loamery.season.plan import BedPlan
from loamery.units import from_si
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import CLASSES, NUTRIENT_NAMES, crop, named, quantity_name, stuff_name, told, use_name
from loamery.web.pages.words import Shown

LEAST_SHORT_G = 0.005
IN_MG_KG = ("nutrient", "salt", "micronutrient", "trace element")
NEAR, FULL = 0.1, 0.98


def beds(sight: Sight) -> dict[str, Any]:
    """Return the list of beds with what grows there and how well each is supplied."""
    rows = []
    for one in sight.garden.beds:
        plan = _plan(sight, one.id)
        growing = [
            each for each in sight.garden.plantings if each.bed == one.id and each.planted <= sight.on <= each.harvested
        ]
        rows.append(
            {
                "name": one.name,
                "href": reverse("pages:bed", args=[sight.slug, one.id]),
                "area": Shown(sight.words.amount(one.area_m2, "area"), kept=sight.kept(one)),
                "crops": sight.words.listing(crop(each.crop) for each in growing) if growing else "",
                "tested": bool(plan and plan.need_data.test.values),
                "met": [_met(sight, plan, key) for key in "NPK"] if plan else [],
                "grave": [each for each in bed_findings(sight.plan, plan) if each.severity == "stop"]
                if plan and sight.plan
                else [],
            }
        )
    return {"rows": rows}


def _met(sight: Sight, plan: BedPlan, key: str) -> dict[str, Any]:
    need, short = plan.need[key], plan.short[key]
    share = 1.0 - short / need if need > 0 else 1.0
    return {
        "key": key,
        "wide": round(100 * min(max(share, 0.0), 1.0), 1),
        "name": named(NUTRIENT_NAMES, key),
        "shown": Shown(sight.words.share(share), "", f"bed/{plan.id}/met/{key}"),
    }


def bed(sight: Sight, one: Bed) -> dict[str, Any]:
    """Return what the page of one bed shows."""
    plan = _plan(sight, one.id)
    out: dict[str, Any] = {
        "bed": one,
        "area": Shown(sight.words.amount(one.area_m2, "area"), kept=sight.kept(one)),
        "texture": told(one.texture),
        "depth": Shown(sight.words.depth(one.depth_m), kept=sight.kept(one)),
        "plantings": _plantings(sight, one),
        "got": _got(sight, one),
        "harvests": _harvests(sight, one),
    }
    if plan is None or sight.plan is None:
        return out
    return {
        **out,
        "findings": bed_findings(sight.plan, plan),
        "met": [_met(sight, plan, key) for key in "NPK"],
        "needs": needs(sight, plan),
        "given": given(sight, plan),
        "ceilings": ceilings(sight, plan),
        "soil": soil(sight, plan),
        "charts": sight.charts(f"bed/{plan.id}"),
    }


def needs(sight: Sight, plan: BedPlan) -> dict[str, Any]:
    """Return needs and supply as a table."""
    words, here = sight.words, f"bed/{plan.id}"
    rows: list[list[Any]] = []
    for key in "NPK":
        short = plan.short[key]
        soil_cell = words.rate(plan.soil_n[-1], f"{here}/soil/N") if key == "N" else _("in the need")
        lack: Shown | str = _("no")
        if short > LEAST_SHORT_G:
            lack = Shown(words.rate(short).text, "", f"{here}/short/{key}", badge=_("short"), strong="warn")
        rows.append([named(NUTRIENT_NAMES, key), words.rate(plan.need[key], f"{here}/need/{key}"), soil_cell,
                     words.rate_band(plan.supplied[key], f"{here}/supply/{key}"), lack])  # fmt: skip
    heads = [_("Nutrient"), _("Needed"), _("From the soil"), _("From materials"), _("Short")]
    return _table(_("What {bed} needs and gets").format(bed=plan.name), heads, rows)


def given(sight: Sight, plan: BedPlan) -> dict[str, Any] | None:
    """Return what the plan spreads as a table, None when nothing is."""
    if not plan.given:
        return None
    words = sight.words
    rows = [
        [
            f"{stuff_name(one.stuff_name)}, {use_name(one.use)}",
            Shown(words.mass(one.kg), "", f"bed/{plan.id}/given/{place}/kg"),
            *(
                words.rate_band(band, f"bed/{plan.id}/given/{place}/{key}")
                for key, band in (("n", one.n), ("p", one.p), ("k", one.k))
            ),
        ]
        for place, one in enumerate(plan.given)
    ]
    note = _("Below zero: decay of this material takes nitrogen from the soil for a while.")
    heads = [_("From"), _("Weight"), "N", "P", "K"]
    return _table(
        _("What the plan spreads on {bed}").format(bed=plan.name),
        heads,
        rows,
        note if any(one.n.median < 0 for one in plan.given) else "",
    )


def ceilings(sight: Sight, plan: BedPlan) -> dict[str, Any] | None:
    """Return the ceilings that matter as a table."""
    near = [one for one in plan.ceilings if one.share >= NEAR or one.ceiling.key in ("P", "K", "salt")]
    rows: list[list[Any]] = []
    for one in near:
        shown = sight.words.rate_band(one.band, f"bed/{plan.id}/ceiling/{one.ceiling.key}")
        full, key = one.share >= FULL, one.ceiling.key
        used = Shown(
            sight.words.share(one.share),
            "",
            f"bed/{plan.id}/share/{key}",
            _("full") if full else "",
            "warn" if full else "",
        )
        most = Shown(
            sight.words.rate(float(from_si(one.ceiling.limit_kg_m2, "g/m2"))).text, "", f"bed/{plan.id}/limit/{key}"
        )
        name = _("Soluble salts") if one.ceiling.key == "salt" else quantity_name(one.ceiling.key)
        rows.append([name, shown, most, used])
    heads = [_("Ceiling"), _("Added"), _("At most"), _("Used")]
    return _table(_("What {bed} may take").format(bed=plan.name), heads, rows) if rows else None


def soil(sight: Sight, plan: BedPlan) -> dict[str, Any] | None:
    """Return the soil test as a table, None where there is none."""
    test = plan.need_data.test
    if not test.values:
        return None
    rows: list[list[Any]] = []
    for key, one in test.values.items():
        found = test.nutrient_class(key)
        label = quantity_name(key) + (f", {one.method}" if one.method not in ("", "none") else "")
        rows.append(
            [
                label,
                Shown(_soil_value(sight, one), "", f"bed/{plan.id}/test/{key}"),
                named(CLASSES, found) if found else "",
            ]
        )
    note = _("From: {origin}.").format(origin=sight.words.listing(test.origin))
    return _table(_("Soil test of {bed}").format(bed=plan.name), [_("Soil test"), _("Value"), _("Class")], rows, note)


def _soil_value(sight: Sight, one: Determination) -> str:
    if one.value is None:
        return (
            _("not given")
            if one.limit is None
            else _("below {value}").format(value=_soil_number(sight, one.quantity, one.limit))
        )
    return _soil_number(sight, one.quantity, one.value)


def _soil_number(sight: Sight, key: str, value_si: float) -> str:
    known = quantity(key)
    unit = "mg/kg" if known.is_concentration and known.family in IN_MG_KG else known.display_unit
    text = sight.words.number(float(from_si(value_si, unit)))
    return text if unit in ("pH", "1") else f"{text} {unit}"


def _table(caption: str, heads: list[str], rows: list[list[Any]], note: str = "") -> dict[str, Any]:
    names = [{"name": name, "right": place > 0} for place, name in enumerate(heads)]
    return {"caption": caption, "heads": names, "rows": rows, "note": note, "cards": len(heads) > 3}


def _plantings(sight: Sight, one: Bed) -> list[dict[str, Any]]:
    found = sorted(
        (each for each in sight.garden.plantings if each.bed == one.id), key=lambda each: each.planted, reverse=True
    )
    return [
        {
            "crop": crop(each.crop),
            "span": _("{first} to {last}").format(
                first=sight.words.day(each.planted), last=sight.words.day(each.harvested)
            ),
            "share": None if each.share == 1 else Shown(sight.words.share(each.share), kept=sight.kept(each)),
        }
        for each in found[:12]
    ]


def _got(sight: Sight, one: Bed) -> dict[str, Any]:
    """Return what was really spread, the newest first, and its total."""
    found = sorted(
        (each for each in sight.garden.applications if each.bed == one.id), key=lambda each: each.on, reverse=True
    )
    rows = [
        {
            "day": sight.words.day(each.on),
            "what": _stuff(sight, each),
            "use": use_name(each.use),
            "kg": Shown(sight.words.mass(each.kg), kept=sight.kept(each)),
        }
        for each in found[:10]
    ]
    total = sum(each.kg for each in found)
    return {
        "rows": rows,
        "total": Shown(sight.words.mass(total), "", f"record/applications/{one.id}"),
        "count": len(found),
    }


def _stuff(sight: Sight, one: Application) -> str:
    if one.material:
        return stuff_name(next((each.name for each in sight.garden.materials if each.id == one.material), one.material))
    return _("worm castings") if one.worm_bed else _("compost made here")


def _harvests(sight: Sight, one: Bed) -> list[dict[str, Any]]:
    found: dict[str, float] = {}
    for each in sight.garden.harvests:
        if each.bed == one.id:
            found[each.crop] = found.get(each.crop, 0.0) + each.kg
    return [
        {"crop": crop(key), "kg": Shown(sight.words.mass(kg), "", f"record/harvests/{one.id}/{key}"),
         "per_m2": Shown(sight.words.amount(kg / one.area_m2, "rate"), "", f"bed/{one.id}/yield/{key}")}
        for key, kg in sorted(found.items(), key=lambda item: -item[1])
    ]  # fmt: skip


def _plan(sight: Sight, key: str) -> BedPlan | None:
    return next((one for one in sight.plan.beds if one.id == key), None) if sight.plan else None
