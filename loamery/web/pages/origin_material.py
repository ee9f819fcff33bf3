"""Where the numbers of a material come from, beside its composition: label grades, tonnes, limits, what becomes of it."""

from __future__ import annotations

from django.utils.translation import gettext as _

from loamery.evidence.materials import answers_for, label_band
from loamery.finding import Band, Input, Trace
from loamery.lab.composition import Composition
from loamery.names import LABEL_TERMS, NUTRIENTS
from loamery.season.plan import MaterialUse
from loamery.units import to_compound
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import colon, quantity_name, stuff_name, use_name

KG_PER_TONNE_PER_PCT = 10.0
TERM_WORDS = {"N": "N", "P": "P₂O₅", "K": "K₂O"}


def composition_of(sight: Sight, key: str) -> Composition | None:
    """Return what is known of a material, None before anything was reckoned."""
    return sight.prepared.compositions.get(key) if sight.prepared else None


def grade_text(sight: Sight, composition: Composition) -> str:
    """Return the label grade of a composition as received, in whole and half figures."""
    bands = [label_band(composition, key, "as_received") for key in NUTRIENTS]
    return " - ".join("?" if one is None else sight.words.number(one.median, 2) for one in bands)


def per_tonne(percent: Band) -> Band:
    """Return what a tonne holds, kg, of something given in percent."""
    return percent.scaled(KG_PER_TONNE_PER_PCT, "kg")


def grade_origin(sight: Sight, rest: str) -> Trace | None:
    """Return where a label grade as received comes from: ``MATERIAL``, or ``MATERIAL/NUTRIENT`` for a tonne of it."""
    material, _slash, key = rest.partition("/")
    composition = composition_of(sight, material)
    if composition is None:
        return None
    name = stuff_name(sight.garden.material(material).name)
    if not key:
        inputs = tuple(
            Input(TERM_WORDS[one], _percent(sight, label_band(composition, one, "as_received")), "", f"grade/{material}/{one}")
            for one in NUTRIENTS
        )  # fmt: skip
        title = _("Label grade of {name}, as received").format(name=name)
        return Trace(f"grade/{rest}", title, grade_text(sight, composition),
                     _("N, P₂O₅ and K₂O in percent of the wet weight, in the long run (total)"), inputs)  # fmt: skip
    band = label_band(composition, key, "as_received") if key in NUTRIENTS else None
    return None if band is None else _tonne(sight, composition, rest, key, band)


def _tonne(sight: Sight, composition: Composition, rest: str, key: str, band: Band) -> Trace:
    material, term = composition.material, TERM_WORDS[key]
    shown, ledger = sight.words.mass_band(per_tonne(band)), sight.reckoned.ledger
    inputs = []
    for one in (key, "moisture"):
        trace = f"composition/{material}/{one}"
        inputs.append(Input(quantity_name(one), ledger[trace].value if trace in ledger else "", "", trace))
    if LABEL_TERMS[key] != key:
        factor = sight.words.number(to_compound(key, LABEL_TERMS[key]), 5)
        inputs.append(Input(f"{term} ÷ {key}", factor, _("from atomic weights")))
    value = f"{shown.text} ({shown.between})" if shown.between else shown.text
    title = _("{name}: {what} in a tonne as it comes").format(
        name=stuff_name(sight.garden.material(material).name), what=term
    )
    return Trace(
        f"grade/{rest}",
        title,
        f"{value} · {_percent(sight, band)}",
        _("share of dry matter × (1 − moisture) × {oxide} × 1000 kg").format(oxide=f"{term} ÷ {key}")
        if LABEL_TERMS[key] != key
        else _("share of dry matter × (1 − moisture) × 1000 kg"),
        tuple(inputs),
        note=_("Middle and 90 % band of the next load."),
    )


def _percent(sight: Sight, band: Band | None) -> str:
    return "?" if band is None else f"{sight.words.number(band.median)} % ({sight.words.between(band)})"


def reports_origin(sight: Sight, material: str) -> Trace | None:
    """Return which laboratory reports a material rests on, counted; by what they are about and their day, not their laboratory."""
    if sight.prepared is None or material not in sight.prepared.compositions:
        return None
    found = sight.prepared.reports.get(material, ())
    inputs = tuple(
        Input(_("Report {count}").format(count=place), one.sampled_on or one.reported_on or _("no day given"))
        for place, one in enumerate(found, 1)
    )
    title = _("Laboratory reports of {name}").format(name=stuff_name(sight.garden.material(material).name))
    return Trace(f"reports/{material}", title, str(len(found)), _("reports that were accepted, counted"), inputs)


def limit_origin(sight: Sight, rest: str) -> Trace | None:
    """Return where a legal limit, or what was found against it, comes from: ``MATERIAL/PARAMETER/most`` or ``.../found``."""
    material, _slash, more = rest.partition("/")
    parameter, _slash, what = more.partition("/")
    composition = composition_of(sight, material)
    if composition is None or sight.prepared is None:
        return None
    reports = sight.prepared.reports.get(material, ())
    one = next((each for each in answers_for(composition, reports, sight.garden) if each.parameter == parameter), None)
    if one is None or (what == "found" and one.value is None):
        return None
    name, most = quantity_name(parameter), f"{sight.words.number(one.limit)} {one.unit}"
    if what == "most":
        return Trace(f"limit/{rest}", _("Most {what} allowed").format(what=name), most, one.instrument, (), one.sources,
                     _("The class of the instrument that the garden's rules name. A compliance limit is not a health line."))  # fmt: skip
    found = f"{sight.words.number(one.value or 0.0)} {one.unit}"
    if one.band is not None:
        found += f" ({sight.words.between(one.band)})"
    inputs = [Input(_("At most"), most, "", f"limit/{material}/{parameter}/most")]
    if f"composition/{material}/{parameter}" in sight.reckoned.ledger:
        inputs.insert(0, Input(_("In the next load"), "", "", f"composition/{material}/{parameter}"))
    return Trace(f"limit/{rest}", _("{what} found in {name}").format(what=name, name=stuff_name(sight.garden.material(material).name)),
                 found, one.because, tuple(inputs), one.sources)  # fmt: skip


def material_origin(sight: Sight, rest: str) -> Trace | None:
    """Return what is offered of a material, or what becomes of it in the plan: ``MATERIAL/WHAT``."""
    key, _slash, what = rest.partition("/")
    use = next((one for one in sight.plan.materials if one.material == key), None) if sight.plan else None
    if use is None:
        return None
    if what in ("", "offered"):
        return _offered(sight, use, rest)
    if what in ("fetched", "left"):
        return _fetched(sight, use, rest, what)
    return _used(sight, use, rest, what.removeprefix("use-"))


def _offered(sight: Sight, use: MaterialUse, rest: str) -> Trace:
    words = sight.words
    inputs = [
        Input(sight.garden.donor(one.donor).name, _("{amount} a week").format(amount=words.mass(one.kg_per_week)),
              _("{first} to {last}").format(first=words.short_day(one.first), last=words.short_day(one.last)))
        for one in sight.garden.supplies if one.material == use.material
    ]  # fmt: skip
    return Trace(
        f"material/{rest}", _("{name}: offered in the season").format(name=stuff_name(use.name)), words.mass(use.offered_kg),
        _("what donors give in each week of the season, added up"), tuple(inputs),
    )  # fmt: skip


def _fetched(sight: Sight, use: MaterialUse, rest: str, what: str) -> Trace:
    assert sight.plan is not None
    words, offered = sight.words, f"material/{use.material}/offered"
    given = Input(_("Offered"), words.mass(use.offered_kg), "", offered)
    if what == "left":
        inputs = (given, Input(_("Fetched"), words.mass(use.collected_kg), "", f"material/{use.material}/fetched"))
        title = _("{name}: left with the donors").format(name=stuff_name(use.name))
        return Trace(f"material/{rest}", title, words.mass(use.left_kg), _("offered − fetched"), inputs)
    chores = [
        Input(words.week(one.day), words.mass(one.kg), "", f"chore/{index}")
        for index, one in enumerate(sight.plan.actions)
        if (one.task, one.stuff) == ("collect", use.material)
    ]
    title = _("{name}: fetched in the season").format(name=stuff_name(use.name))
    return Trace(f"material/{rest}", title, words.mass(use.collected_kg),
                 _("what the solver fetches, all weeks added up"), (given, *chores))  # fmt: skip


def _used(sight: Sight, use: MaterialUse, rest: str, which: str) -> Trace | None:
    if which not in use.by_use_kg or sight.plan is None:
        return None
    words = sight.words
    inputs = [
        Input(f"{one.target_name}, {words.short_day(one.day)}", words.mass(one.kg), "", f"chore/{index}")
        for index, one in enumerate(sight.plan.actions)
        if one.stuff == use.material and one.task == {"worm_bed": "feed"}.get(which, which) and which != "heap"
    ]
    if which == "heap":
        inputs = [
            Input(f"{one.heap_name}, {words.short_day(one.day)}", words.mass(one.parts_kg[use.material]), "", f"batch/{one.id}")
            for one in sight.plan.batches if use.material in one.parts_kg
        ]  # fmt: skip
    title = f"{stuff_name(use.name)}{colon()}{use_name(which)}"
    return Trace(f"material/{rest}", title, words.mass(use.by_use_kg[which]), _("what the plan uses for it, all weeks added up"), tuple(inputs))  # fmt: skip
