"""What the plan has to say for itself: what is short, what binds, what is left, what it rests on."""

from __future__ import annotations

from collections.abc import Iterator

from loamery.bed.ceilings import relative_yield
from loamery.bed.demand import crop_name
from loamery.finding import Finding
from loamery.names import quantity
from loamery.season.allowed import manure_days
from loamery.season.decision import AIMS, Solution
from loamery.season.plan import BedPlan, SeasonPlan
from loamery.season.problem import Problem
from loamery.season.solve import GAPS
from loamery.units import from_si
from loamery.words import mass_text, rate_band, rate_text

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
            "No laboratory report yet: the whole plan rests on published ranges, so its bands are wide.",
            "reports.toml names no report of a material",
            about="garden",
            proposal="send in the material you use most; each report that arrives narrows the plan",
        )
    elif untested:
        yield Finding(
            "partly_published",
            "note",
            f"{len(untested)} of {len(plan.garden.materials)} materials rest on published ranges alone.",
            "no report names " + ", ".join(name.lower() for name in untested),
            about="garden",
            proposal="each report that arrives narrows the plan",
        )


def _shortfalls(plan: SeasonPlan) -> Iterator[Finding]:
    system = plan.garden.info.units
    for bed in plan.beds:
        for key, short in bed.short.items():
            need = bed.need[key]
            if need > 0 and short / need > TOLD_SHORT:
                why = "; ".join(one.ceiling.because for one in bed.ceilings if one.share >= NEAR)
                yield Finding(
                    "short_of_nutrient",
                    "warning" if short / need > 0.25 else "note",
                    f"{bed.name}: {quantity(key).label.lower()} is {rate_text(short, system)} short of "
                    f"{rate_text(need, system)} needed.",
                    f"supplied {rate_band(bed.supplied[key], system)}"
                    + (f", the soil adds {rate_text(bed.soil_n[-1], system)}" if key == "N" else "")
                    + (f"; held by: {why}" if why else ""),
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
                f"{bed.name}: {rate_text(over, system)} more nitrogen than the crops take; it may leach as nitrate.",
                f"supply {rate_text(bed.supply_n[-1], system)} + soil {rate_text(bed.soil_n[-1], system)} against uptake "
                f"{rate_text(bed.demand_n[-1], system)}",
                (coefficient("n_supply_surplus_max").source,),
                about=bed.id,
            )


def _ceilings(plan: SeasonPlan) -> Iterator[Finding]:
    system = plan.garden.info.units
    for bed in plan.beds:
        for one in bed.ceilings:
            if one.share >= NEAR and one.load_kg_m2 > 0:
                key = one.ceiling.key
                label = "salt" if key == "salt" else quantity(key).label.lower()
                load, limit = (
                    rate_text(from_si(value, "g/m2"), system) for value in (one.load_kg_m2, one.ceiling.limit_kg_m2)
                )
                yield Finding(
                    "ceiling_reached",
                    "note",
                    f"{bed.name}: {label} is at its ceiling, {load} of {limit}; nothing more that holds it fits here.",
                    one.ceiling.because,
                    one.ceiling.sources,
                    about=bed.id,
                    band=one.band,
                )


def _sacks(problem: Problem, solution: Solution) -> Iterator[Finding]:
    """Say what to buy."""
    info = problem.garden.info
    for good, sacks in zip(problem.goods, solution.sacks, strict=True):
        if sacks > 0:
            name = problem.garden.material(good.material).name
            yield Finding(
                "sacks_to_buy",
                "note",
                f"{name}: buy {sacks:.0f} of {mass_text(good.sack_kg, info.units)} for {sacks * good.price:.0f} {info.currency}.",
                "goods.csv; what its nutrients spare in shortfall, before work and money are counted",
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
        names = ", ".join(
            f"{name.lower()} {mass_text(kg, system)}" for name, kg in sorted(left.items(), key=lambda item: -item[1])
        )
        yield Finding(
            "left_with_donors",
            "note",
            f"{mass_text(sum(left.values()), system)} of {mass_text(offered, system)} on offer is not needed or does not fit.",
            names,
            about="garden",
            proposal="more beds, another heap or a dry store would let you take more",
        )


def _heaps(plan: SeasonPlan, problem: Problem) -> Iterator[Finding]:
    if problem.garden.heaps and problem.recipes and not plan.batches:
        yield Finding(
            "no_batch",
            "note",
            "No heap is built this season.",
            "what there is at one time does not fill the smallest heap that heats, or does not pay for its work",
            about="heap",
            proposal="collect leaves and chips in autumn, so that spring greens have a partner",
        )
    late = [one for one in plan.batches if one.ready_week >= plan.calendar.weeks]
    if late:
        yield Finding(
            "compost_next_season",
            "note",
            f"{len(late)} of {len(plan.batches)} batches are ready only after the season: {mass_text(sum(one.compost_kg for one in late), plan.garden.info.units)} for next year.",
            "; ".join(
                f"{one.heap_name}, built {one.day.isoformat()}, ready about {one.ready_day.isoformat()}" for one in late
            ),
            about="heap",
        )
    for one in plan.recipes:
        if one.blend.flagged and any(batch.recipe.id == one.id for batch in plan.batches):
            yield Finding(
                "recipe_uncertain",
                "warning",
                f"Recipe “{one.name}” keeps its bounds in {one.blend.coverage or 0:.0%} of draws only.",
                "its materials are known too loosely; the bounds hold at the medians",
                about="heap",
                proposal="test the material it uses most, or squeeze a handful: it should be as damp as a wrung-out sponge",
            )


def _manure(plan: SeasonPlan, problem: Problem) -> Iterator[Finding]:
    raw = {one.id: one.name for one in problem.raw if one.is_raw_manure}
    if raw:
        yield Finding(
            "manure_interval",
            "note",
            f"Raw {', '.join(name.lower() for name in raw.values())} is kept off beds with a crop within {manure_days(plan.garden)} days.",
            "interval of the organic rule of the USA between raw manure and the harvest of crops that touch the soil",
            ("NOPTEXT",),
            about="garden",
            caution="Pathogens outlive a season. Follow local codes; ask a licensed professional.",
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
                f"{bed.name}: soil {quantity(key).label.lower()} {from_si(value, 'mg/kg'):.0f} mg/kg is "
                f"{'above' if above else 'near'} the guideline of {from_si(limit, 'mg/kg'):.0f} mg/kg.",
                f"{row['instrument']}, {row['class']}" + (f" ({row['note']})" if row["note"] else ""),
                (row["source"],),
                about=bed.id,
                proposal="grow in clean imported soil there, prefer fruiting crops, keep soil covered, wash and peel"
                if key == "Pb"
                else "have the soil tested again before growing food there",
                caution="Keep small children from bare soil. Follow local codes; ask a licensed professional.",
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
            shown = ", ".join(f"{name.lower()} {share:.0%}" for name, share in hurt.items())
            yield Finding(
                "bed_salty",
                "warning" if worst < 0.8 else "note",
                f"{bed.name}: the salt in the soil costs yield, {shown} of a full crop.",
                f"conductivity of the saturated paste {from_si(now, 'dS/m'):.2g} dS/m; yield falls in a straight line "
                "above each crop's threshold",
                ("MAAS90",),
                about=bed.id,
                proposal="leach with rain water before planting, choose tolerant crops, spread low-salt material only",
            )


AIM_UNITS = {"shortfall": "points of shortfall", "cost": "hours of work", "kept_away": "kg put to use"}


def _solver(solution: Solution) -> Iterator[Finding]:
    """Say what of the plan is not proven: for each aim, how much better another plan may be."""
    loose = [aim for aim in AIMS if solution.gaps[aim] > GAPS[aim] * (1.0 + 1e-6) + 1e-6]
    if solution.status != "optimal" or loose:
        gaps = ", ".join(f"{solution.gaps[aim]:.3g} {AIM_UNITS[aim]}" for aim in loose or AIMS)
        yield Finding(
            "plan_not_proven",
            "warning",
            f"The best plan found in the time, or the search, it had; a better one may exist, by at most {gaps}.",
            f"the solver stopped with “{solution.status}”",
            about="garden",
            proposal="allow it more time or a longer search (loamery plan, loamery replay), or plan with fewer weeks or scenarios",
        )
