"""The plan as one JSON document; docs/season.md describes it key by key."""

from __future__ import annotations

from loamery.season.plan import Batch, BedPlan, SeasonPlan
from loamery.units import from_si

FORMAT = "loamery season plan 1"


def plan_document(plan: SeasonPlan) -> dict[str, object]:
    """Return a plan ready for JSON."""
    return {
        "format": FORMAT,
        "garden": {
            "name": plan.garden.info.name,
            "place": plan.garden.info.place,
            "invented": plan.garden.info.invented,
        },
        "season": {"start": plan.calendar.start.isoformat(), "weeks": plan.calendar.weeks},
        "solver": {
            "status": plan.status,
            "seconds": round(plan.seconds, 3),
            "scenarios": plan.scenarios,
            "aims": [{"aim": aim, "value": value, "gap": plan.gaps[aim]} for aim, value in plan.values.items()],
        },
        "published_only": list(plan.published_only),
        "actions": [one.as_dict() for one in plan.actions],
        "batches": [_batch(one) for one in plan.batches],
        "beds": [_bed(one) for one in plan.beds],
        "materials": [dict(vars(one)) for one in plan.materials],
        "mulches": _mulches(plan),
        "hours_by_week": list(plan.hours),
        "money": {"spent": plan.money, "currency": plan.garden.info.currency},
        "findings": [one.as_dict() for one in plan.findings],
        "traces": [one.as_dict() for one in plan.ledger],
    }


def _mulches(plan: SeasonPlan) -> list[dict[str, object]]:
    """Return how deep each mulch may lie, and whether a publication or the heap model, for which fault, sets that."""
    ways = plan.levers.ways if plan.levers else ()
    return [
        {
            "stuff": one.stuff,
            "name": one.stuff_name,
            "depth_limit_m": one.depth_limit_m,
            "set_by": "model" if one.mulch_fault else "publication",
            "fault": one.mulch_fault,
        }
        for one in ways
        if one.use == "mulch"
    ]


def _batch(one: Batch) -> dict[str, object]:
    kept = {key: value for key, value in vars(one).items() if key not in ("recipe", "day", "ready_day")}
    return {
        **kept,
        "day": one.day.isoformat(),
        "ready_day": one.ready_day.isoformat(),
        "recipe": {"id": one.recipe.id, "name": one.recipe.name, **one.recipe.blend.as_dict()},
    }


def _bed(one: BedPlan) -> dict[str, object]:
    return {
        "id": one.id,
        "name": one.name,
        "area_m2": one.need_data.bed.area_m2,
        "unit": "g/m2",
        "need": dict(one.need),
        "soil_n": one.soil_n[-1],
        "supplied": {key: band.as_dict() for key, band in one.supplied.items()},
        "short": dict(one.short),
        "short_worst_tenth": dict(one.worst),
        "given": [
            {"stuff": g.stuff, "use": g.use, "kg": g.kg, "N": g.n.as_dict(), "P": g.p.as_dict(), "K": g.k.as_dict()}
            for g in one.given
        ],
        "ceilings": [
            {
                "key": c.ceiling.key,
                "load": from_si(c.load_kg_m2, "g/m2"),
                "limit": from_si(c.ceiling.limit_kg_m2, "g/m2"),
                "share": c.share,
                "kept": c.kept,
                "because": c.ceiling.because,
                "sources": list(c.ceiling.sources),
            }
            for c in one.ceilings
        ],
        "mulch_cover_share": one.cover_share,
    }
