"""What the plan has to say for itself: what is short, what binds, what is left, what it rests on."""

from __future__ import annotations

import math
from collections.abc import Iterator

from loamery.bed.ceilings import relative_yield
from loamery.bed.demand import crop_name
from loamery.finding import Finding
from loamery.names import quantity
from loamery.say import joined, say
from loamery.season.allowed import manure_days
from loamery.season.decision import AIMS, Solution
from loamery.season.plan import BedPlan, SeasonPlan
from loamery.season.problem import Problem
from loamery.season.sacks import sacks_by_week
from loamery.season.solve import GAPS
from loamery.units import from_si
from loamery.words import mass_text, number, rate_band, rate_text

NEAR = 0.98
"""A ceiling at or above this share of its limit is told as binding."""
TOLD_SHORT = 0.05
"""Shortfalls below this share of the need are not told."""


def plan_findings(plan: SeasonPlan, problem: Problem, solution: Solution) -> tuple[Finding, ...]:
    """Return the findings of a solved plan."""
    return (
        *_rests_on(plan),
        *_shortfalls(plan),
        *_surpluses(plan),
        *_ceilings(plan),
        *_left(plan),
        *_sacks(problem, solution),
        *_heaps(plan, problem),
        *_manure(plan, problem),
        *_soil_metals(plan),
        *_salty(plan),
        *_solver(solution),
    )


def _rests_on(plan: SeasonPlan) -> Iterator[Finding]:
    """Say how much of the plan rests on published ranges."""
    untested = plan.published_only
    if not any(plan.reports.values()):
        yield Finding(
            "no_report_yet",
            "warning",
            say("No laboratory report yet: the whole plan rests on published ranges, so its bands are wide."),
            say("reports.toml names no report of a material"),
            about="garden",
            proposal=say("send in the material you use most; each report that arrives narrows the plan"),
        )
    elif untested:
        yield Finding(
            "partly_published",
            "note",
            say(
                "{untested} of {materials} materials rest on published ranges alone.",
                untested=len(untested),
                materials=len(plan.garden.materials),
            ),
            say("no report names ") + joined(", ", (name.lower() for name in untested)),
            about="garden",
            proposal=say("each report that arrives narrows the plan"),
        )


def _shortfalls(plan: SeasonPlan) -> Iterator[Finding]:
    system = plan.garden.info.units
    for bed in plan.beds:
        for key, short in bed.short.items():
            need = bed.need[key]
            if need > 0 and short / need > TOLD_SHORT:
                why = joined("; ", (one.ceiling.because for one in bed.ceilings if one.share >= NEAR))
                yield Finding(
                    "short_of_nutrient",
                    "warning" if short / need > 0.25 else "note",
                    say(
                        "{name}: {quantity} is {short} short of {need} needed.",
                        name=bed.name,
                        quantity=quantity(key).label.lower(),
                        short=rate_text(short, system),
                        need=rate_text(need, system),
                    ),
                    say("supplied {supplied}", supplied=rate_band(bed.supplied[key], system))
                    + (say(", the soil adds {soil_n}", soil_n=rate_text(bed.soil_n[-1], system)) if key == "N" else "")
                    + (say("; held by: {why}", why=why) if why else ""),
                    _need_sources(bed),
                    about=bed.id,
                    band=bed.supplied[key],
                )


def _need_sources(bed: BedPlan) -> tuple[str, ...]:
    keys = (key for demand in bed.need_data.demands for figure in demand.figures.values() for key in figure.sources)
    return tuple(dict.fromkeys(keys))


def _surpluses(plan: SeasonPlan) -> Iterator[Finding]:
    from loamery.reference import coefficient

    room = coefficient("n_supply_surplus_max").value
    system = plan.garden.info.units
    for bed in plan.beds:
        over = bed.supply_n[-1] + bed.soil_n[-1] - bed.demand_n[-1]
        if over > room + 0.5:
            yield Finding(
                "nitrogen_surplus",
                "warning",
                say(
                    "{name}: {over} more nitrogen than the crops take; it may leach as nitrate.",
                    name=bed.name,
                    over=rate_text(over, system),
                ),
                say(
                    "supply {supply_n} + soil {soil_n} against uptake {demand_n}",
                    supply_n=rate_text(bed.supply_n[-1], system),
                    soil_n=rate_text(bed.soil_n[-1], system),
                    demand_n=rate_text(bed.demand_n[-1], system),
                ),
                (coefficient("n_supply_surplus_max").source,),
                about=bed.id,
            )


def _ceilings(plan: SeasonPlan) -> Iterator[Finding]:
    system = plan.garden.info.units
    for bed in plan.beds:
        for one in bed.ceilings:
            if one.share >= NEAR and one.load_kg_m2 > 0:
                key = one.ceiling.key
                label = say("salt") if key == "salt" else quantity(key).label.lower()
                load, limit = (
                    rate_text(from_si(value, "g/m2"), system) for value in (one.load_kg_m2, one.ceiling.limit_kg_m2)
                )
                yield Finding(
                    "ceiling_reached",
                    "note",
                    say(
                        "{name}: {label} is at its ceiling, {load} of {limit}; nothing more that holds it fits here.",
                        name=bed.name,
                        label=label,
                        load=load,
                        limit=limit,
                    ),
                    one.ceiling.because,
                    one.ceiling.sources,
                    about=bed.id,
                    band=one.band,
                )


def _sacks(problem: Problem, solution: Solution) -> Iterator[Finding]:
    """Say what to buy in the whole season."""
    info = problem.garden.info
    for good, sacks in zip(problem.goods, sacks_by_week(problem, solution).sum(axis=1), strict=True):
        if sacks > 0:
            name = problem.garden.material(good.material).name
            yield Finding(
                "sacks_to_buy",
                "note",
                say(
                    "{name}: buy {sacks:.0f} of {sack_kg} for {sacks2:.0f} {currency}.",
                    name=name,
                    sacks=sacks,
                    sack_kg=mass_text(good.sack_kg, info.units),
                    sacks2=sacks * good.price,
                    currency=info.currency,
                ),
                say("goods.csv; what its nutrients spare in shortfall, before work and money are counted"),
                about=name,
            )


def _left(plan: SeasonPlan) -> Iterator[Finding]:
    system = plan.garden.info.units
    offered = sum(one.offered_kg for one in plan.materials)
    left = {
        one.name: one.left_kg
        for one in plan.materials
        if one.left_kg > 0.1 * max(one.offered_kg, 1.0) and one.left_kg > 20
    }
    if left:
        names = joined(
            ", ",
            (
                say("{name} {kg}", name=name.lower(), kg=mass_text(kg, system))
                for name, kg in sorted(left.items(), key=lambda item: -item[1])
            ),
        )
        yield Finding(
            "left_with_donors",
            "note",
            say(
                "{sum} of {offered} on offer is not needed or does not fit.",
                sum=mass_text(sum(left.values()), system),
                offered=mass_text(offered, system),
            ),
            names,
            about="garden",
            proposal=say("more beds, another heap or a dry store would let you take more"),
        )


def _heaps(plan: SeasonPlan, problem: Problem) -> Iterator[Finding]:
    if problem.garden.heaps and problem.recipes and not plan.batches:
        yield Finding(
            "no_batch",
            "note",
            say("No heap is built this season."),
            say("what there is at one time does not fill the smallest heap that heats, or does not pay for its work"),
            about="heap",
            proposal=say("collect leaves and chips in autumn, so that spring greens have a partner"),
        )
    late = [one for one in plan.batches if one.ready_week >= plan.calendar.weeks]
    if late:
        yield Finding(
            "compost_next_season",
            "note",
            say(
                "{late} of {batches} batches are ready only after the season: {sum} for next year.",
                late=len(late),
                batches=len(plan.batches),
                sum=mass_text(sum(one.compost_kg for one in late), plan.garden.info.units),
            ),
            joined(
                "; ",
                (
                    say(
                        "{heap_name}, built {day}, ready about {ready_day}",
                        heap_name=one.heap_name,
                        day=one.day.isoformat(),
                        ready_day=one.ready_day.isoformat(),
                    )
                    for one in late
                ),
            ),
            about="heap",
        )
    for one in plan.recipes:
        if one.blend.flagged and any(batch.recipe.id == one.id for batch in plan.batches):
            yield Finding(
                "recipe_uncertain",
                "warning",
                say(
                    "Recipe “{name}” keeps its bounds in {what:.0%} of draws only.",
                    name=one.name,
                    what=one.blend.coverage or 0,
                ),
                say("its materials are known too loosely; the bounds hold at the medians"),
                about="heap",
                proposal=say(
                    "test the material it uses most, or squeeze a handful: it should be as damp as a wrung-out sponge"
                ),
            )


def _manure(plan: SeasonPlan, problem: Problem) -> Iterator[Finding]:
    raw = {one.id: one.name for one in problem.raw if one.is_raw_manure}
    if raw:
        yield Finding(
            "manure_interval",
            "note",
            say(
                "Raw {join} is kept off beds with a crop within {manure_days} days.",
                join=joined(", ", (name.lower() for name in raw.values())),
                manure_days=manure_days(plan.garden),
            ),
            say(
                "interval of the organic rule of the USA between raw manure and the harvest of crops that touch the soil"
            ),
            ("NOPTEXT",),
            about="garden",
            caution=say("Pathogens outlive a season. Follow local codes; ask a licensed professional."),
        )


def _soil_metals(plan: SeasonPlan) -> Iterator[Finding]:
    """Hold soil trace elements against the soil limits of the jurisdiction; the strictest counts."""
    from loamery.bed.soil import soil_limits

    limits = soil_limits(plan.garden.info.jurisdiction)
    for bed in plan.beds:
        for key, (limit, row) in limits.items():
            value = bed.need_data.test.value(key)
            if value is None or value <= limit * 0.8:
                continue
            above = value > limit
            yield Finding(
                "soil_limit_exceeded" if above else "soil_limit_near",
                "stop" if above else "warning",
                say(
                    "{name}: soil {quantity} {from_si:.0f} mg/kg is {what} the guideline of {from_si2:.0f} mg/kg.",
                    name=bed.name,
                    quantity=quantity(key).label.lower(),
                    from_si=from_si(value, "mg/kg"),
                    what=say("above") if above else say("near"),
                    from_si2=from_si(limit, "mg/kg"),
                ),
                say("{row}, {row2}", row=row["instrument"], row2=row["class"])
                + (say(" ({row})", row=row["note"]) if row["note"] else ""),
                (row["source"],),
                about=bed.id,
                proposal=say(
                    "grow in clean imported soil there, prefer fruiting crops, keep soil covered, wash and peel"
                )
                if key == "Pb"
                else say("have the soil tested again before growing food there"),
                caution=say("Keep small children from bare soil. Follow local codes; ask a licensed professional."),
            )


def _salty(plan: SeasonPlan) -> Iterator[Finding]:
    """Say what the salt that is already in a bed costs its crops."""
    for bed in plan.beds:
        now = bed.need_data.test.saturated_ec()
        if now is None:
            continue
        yields = {one.crop: relative_yield(one.crop, now) for one in bed.need_data.plantings}
        hurt = {crop_name(crop): share for crop, share in yields.items() if share is not None and share < 1.0}
        if hurt:
            worst = min(hurt.values())
            told = (say("{crop} {share:.0%}", crop=name.lower(), share=share) for name, share in hurt.items())
            shown = joined(", ", told)
            yield Finding(
                "bed_salty",
                "warning" if worst < 0.8 else "note",
                say("{name}: the salt in the soil costs yield, {shown} of a full crop.", name=bed.name, shown=shown),
                say(
                    "conductivity of the saturated paste {from_si:.2g} dS/m; yield falls in a straight line above each crop's threshold",
                    from_si=from_si(now, "dS/m"),
                ),
                ("MAAS90",),
                about=bed.id,
                proposal=say(
                    "leach with rain water before planting, choose tolerant crops, spread low-salt material only"
                ),
            )


AIM_UNITS = {"shortfall": say("points of shortfall"), "cost": say("hours of work"), "kept_away": say("kg put to use")}


def _solver(solution: Solution) -> Iterator[Finding]:
    """Say what of the plan is not proven: for each aim, how much better another plan may be."""
    loose = [aim for aim in AIMS if solution.gaps[aim] > GAPS[aim] * (1.0 + 1e-6) + 1e-6]
    if solution.status != "optimal" or loose:
        known = [aim for aim in loose or AIMS if math.isfinite(solution.gaps[aim])]
        gaps = joined(", ", (say("{gap} {unit}", gap=number(solution.gaps[aim]), unit=AIM_UNITS[aim]) for aim in known))
        yield Finding(
            "plan_not_proven",
            "warning",
            say(
                "The best plan found in the time, or the search, it had; a better one may exist, by at most {gaps}.",
                gaps=gaps or say("something that is not known"),
            ),
            say("the solver stopped with “{status}”", status=solution.status),
            about="garden",
            proposal=say("allow it more time or a longer search, or plan with fewer weeks or scenarios"),
        )
