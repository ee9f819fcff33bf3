"""Where the numbers of a bed come from, beside those the models traced: shares met, amounts spread, room left, harvests."""

from __future__ import annotations

from django.utils.translation import gettext as _

from loamery.finding import Input, Trace
from loamery.season.change import BedState, Move, changed
from loamery.season.plan import BedPlan, Given
from loamery.units import from_si
from loamery.web.pages.sight import Sight
from loamery.web.pages.terms import NUTRIENT_NAMES, colon, named, quantity_name, stuff_name, use_name


def bed_origin(sight: Sight, rest: str) -> Trace | None:
    """Return where a number of a bed's page comes from: ``BED/WHAT/MORE``, None where there is none."""
    key, _slash, more = rest.partition("/")
    what, _slash, which = more.partition("/")
    if what == "yield":
        return _yield(sight, key, which)
    plan = next((one for one in sight.plan.beds if one.id == key), None) if sight.plan else None
    makers = {"met": _met, "short": _short, "given": _given, "limit": _limit, "share": _share}
    return makers[what](sight, plan, which) if plan is not None and what in makers else None


def _met(sight: Sight, plan: BedPlan, key: str) -> Trace | None:
    if key not in plan.need:
        return None
    need, short = plan.need[key], plan.short[key]
    share = 1.0 - short / need if need > 0 else 1.0
    return Trace(
        f"bed/{plan.id}/met/{key}",
        _("{bed}: share of the needed {what} that is supplied").format(bed=plan.name, what=_small(key)),
        sight.words.share(share),
        _("1 − short ÷ needed"),
        (_input_rate(sight, _("Short"), short, f"bed/{plan.id}/short/{key}"),
         _input_rate(sight, _("Needed"), need, f"bed/{plan.id}/need/{key}")),
        note=_("With the plan as it is; what a bed gets at the wrong time does not count as supplied."),
    )  # fmt: skip


def _short(sight: Sight, plan: BedPlan, key: str) -> Trace | None:
    if key not in plan.short or sight.plan is None:
        return None
    here = f"bed/{plan.id}"
    inputs = [_input_rate(sight, _("Needed"), plan.need[key], f"{here}/need/{key}")]
    if key == "N":
        inputs.append(_input_rate(sight, _("From the soil"), plan.soil_n[-1], f"{here}/soil/N"))
    supplied = sight.words.rate_band(plan.supplied[key])
    inputs.append(Input(_("From materials"), f"{supplied.text} ({supplied.between})", "", f"{here}/supply/{key}"))
    inputs.append(_input_rate(sight, _("In the worst tenth of the draws"), plan.worst[key]))
    return Trace(
        f"{here}/short/{key}",
        _("{bed}: {what} that is short").format(bed=plan.name, what=_small(key)),
        sight.words.rate(plan.short[key]).text,
        _("needed − supplied, at least 0, in each of {count} draws of what is not known; their mean").format(
            count=sight.plan.scenarios
        ),
        tuple(inputs),
    )


def _given(sight: Sight, plan: BedPlan, rest: str) -> Trace | None:
    index, _slash, what = rest.partition("/")
    if not index.isdecimal() or int(index) >= len(plan.given):
        return None
    one = plan.given[int(index)]
    return _spread(sight, plan, one, rest) if what == "kg" else _gives(sight, plan, one, rest, what.upper())


def _spread(sight: Sight, plan: BedPlan, one: Given, rest: str) -> Trace:
    assert sight.plan is not None
    asked = [
        (index, each)
        for index, each in enumerate(sight.plan.actions)
        if (each.task, each.stuff, each.target) == (one.use, one.stuff, plan.id)
    ]
    words = sight.words
    inputs = tuple(
        Input(words.week(each.day), words.mass(each.kg), "", f"chore/{index}") for index, each in asked if each.kg > 0
    )
    return Trace(
        f"bed/{plan.id}/given/{rest}",
        _("{what}, {use}, on {bed}").format(what=stuff_name(one.stuff_name), use=use_name(one.use), bed=plan.name),
        words.mass(one.kg),
        _("the chores of all weeks added up"),
        inputs,
    )


def _gives(sight: Sight, plan: BedPlan, one: Given, rest: str, key: str) -> Trace | None:
    if key not in NUTRIENT_NAMES:
        return None
    shown = sight.words.rate_band(getattr(one, key.lower()))
    rules = {
        "N": _("weight × (mineral N + organic N × share that the bed model releases by the end of the season) ÷ area"),
        "P": _("weight × total P × share available in the first season ÷ area"),
        "K": _("weight × total K × share available in the first season ÷ area"),
    }
    bed = plan.need_data.bed
    inputs = [
        Input(_("Weight"), sight.words.mass(one.kg), "", f"bed/{plan.id}/given/{rest.partition('/')[0]}/kg"),
        Input(_("Area"), sight.words.amount(bed.area_m2, "area"), _("as written down")),
    ]
    linked = _content(sight, one.stuff, key)
    if linked:
        inputs.append(Input(_("What it holds"), "", "", linked))
    supply = f"bed/{plan.id}/supply/{key}"
    known = sight.reckoned.ledger
    return Trace(
        f"bed/{plan.id}/given/{rest}",
        _("{what}: {nutrient} for {bed}").format(what=stuff_name(one.stuff_name), nutrient=_small(key), bed=plan.name),
        f"{shown.text} ({shown.between})" if shown.between else shown.text,
        rules[key],
        tuple(inputs),
        known[supply].sources if supply in known else (),
        _("Middle and 90 % band over the draws of composition, decay and availability."),
    )


def _content(sight: Sight, stuff: str, key: str) -> str:
    """Return the trace of a nutrient in a material, or of the heap a compost comes from."""
    assert sight.plan is not None
    if f"composition/{stuff}/{key}" in sight.reckoned.ledger:
        return f"composition/{stuff}/{key}"
    return next((f"batch/{one.id}" for one in sight.plan.batches if one.recipe.id == stuff), "")


def _limit(sight: Sight, plan: BedPlan, key: str) -> Trace | None:
    one = next((each for each in plan.ceilings if each.ceiling.key == key), None)
    if one is None:
        return None
    return Trace(
        f"bed/{plan.id}/limit/{key}",
        _("{bed}: most {what} that may be added in the season").format(bed=plan.name, what=_ceiling(key)),
        sight.words.rate(float(from_si(one.ceiling.limit_kg_m2, "g/m2"))).text,
        one.ceiling.because,
        (),
        one.ceiling.sources,
    )


def _share(sight: Sight, plan: BedPlan, key: str) -> Trace | None:
    one = next((each for each in plan.ceilings if each.ceiling.key == key), None)
    if one is None:
        return None
    load = sight.words.rate(float(from_si(one.load_kg_m2, "g/m2"))).text
    limit = sight.words.rate(float(from_si(one.ceiling.limit_kg_m2, "g/m2"))).text
    return Trace(
        f"bed/{plan.id}/share/{key}",
        _("{bed}: share used of the ceiling for {what}").format(bed=plan.name, what=_ceiling(key)),
        sight.words.share(one.share),
        _("what counts against it ÷ at most"),
        (
            Input(_("What counts against it"), load, "", f"bed/{plan.id}/ceiling/{key}"),
            Input(_("At most"), limit, "", f"bed/{plan.id}/limit/{key}"),
        ),
        one.ceiling.sources,
        _("Each material counts with more than its middle figure, so that the ceiling holds in most draws; here it holds in {share} of them.").format(
            share=sight.words.share(one.kept)
        ),
    )  # fmt: skip


def _yield(sight: Sight, key: str, crop: str) -> Trace | None:
    bed = next((one for one in sight.garden.beds if one.id == key), None)
    kg = sum(one.kg for one in sight.garden.harvests if (one.bed, one.crop) == (key, crop))
    if bed is None or not kg:
        return None
    return Trace(
        f"bed/{key}/yield/{crop}",
        _("{bed}: harvest on each square metre").format(bed=bed.name),
        sight.words.amount(kg / bed.area_m2, "rate"),
        _("all that was harvested of it ÷ area of the whole bed"),
        (
            Input(_("Harvested"), sight.words.mass(kg), "", f"record/harvests/{key}/{crop}"),
            Input(_("Area"), sight.words.amount(bed.area_m2, "area"), _("as written down")),
        ),
    )


def moved_origin(sight: Sight, rest: str) -> Trace | None:
    """Return what a bed gets after changes by hand, ``BED/WHAT``, and what was changed."""
    key, _slash, what = rest.partition("/")
    plan = sight.solved
    if plan is None or plan.levers is None or not sight.moves:
        return None
    found = changed(plan, plan.levers, [Move(index, *move) for index, move in sight.moves.items()])
    states = [one for one in zip(found.before, found.after, strict=True) if one[1].bed == key]
    told = _moved(sight, *states[0], what) if states else None
    if told is None:
        return None
    words = sight.words
    inputs = [Input(_("Before"), told[1], "", _before(key, what))]
    for index, (kg, week) in sight.moves.items():
        one = plan.actions[index]
        if one.target == key:
            text = _("{before}, {was} → {after}, {now}").format(
                before=words.mass(one.kg), was=words.short_day(one.day), after=words.mass(kg), now=words.short_day(plan.calendar.monday(week))
            )  # fmt: skip
            inputs.append(Input(stuff_name(one.stuff_name), text, _("changed by hand")))
    return Trace(
        f"moved/{rest}", f"{states[0][1].name}{colon()}{told[0]}", told[2],
        _("the effect of each kilogram at the middle of what is known × the change, added to what the plan gives"), tuple(inputs),
        note=_("Reckoned at once and without bands; solving again reckons it fully."),
    )  # fmt: skip


def _moved(sight: Sight, before: BedState, after: BedState, what: str) -> tuple[str, str, str] | None:
    """Return the name of a figure, and how it is said before and after."""
    words = sight.words
    if what in after.supplied:
        name = named(NUTRIENT_NAMES, what)
        return name, words.rate(before.supplied[what]).text, words.rate(after.supplied[what]).text
    if what == "cover":
        return _("Soil covered when it should be"), words.share(before.covered), words.share(after.covered)
    if what.startswith("short-") and (key := what.removeprefix("short-")) in after.short:
        name = _("{what} that is short").format(what=named(NUTRIENT_NAMES, key))
        return name, words.rate(before.short[key]).text, words.rate(after.short[key]).text
    key = what.removeprefix("ceiling-")
    if key not in after.ceilings:
        return None
    name = _("Ceiling: {what}").format(what=_ceiling(key))
    return name, words.share(before.ceilings[key]), words.share(after.ceilings[key])


def _before(bed: str, what: str) -> str:
    if what == "cover":
        return ""
    if what.startswith("ceiling-"):
        return f"bed/{bed}/share/{what.removeprefix('ceiling-')}"
    return f"bed/{bed}/short/{what.removeprefix('short-')}" if what.startswith("short-") else f"bed/{bed}/supply/{what}"


def _ceiling(key: str) -> str:
    return _("salts") if key == "salt" else quantity_name(key)


def _small(key: str) -> str:
    name = named(NUTRIENT_NAMES, key)
    return name[:1].lower() + name[1:]


def _input_rate(sight: Sight, label: str, g_m2: float, trace: str = "") -> Input:
    return Input(label, sight.words.rate(g_m2).text, "", trace)
