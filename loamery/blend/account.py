"""Account for a solved blend: amounts, bands, nearness of bounds, findings, and where every figure comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.blend import mix
from loamery.blend.bounds import QUANTITIES, UNITS, Bounds, salt_advice_s_m
from loamery.blend.ingredient import WORDS, Ingredient, Matter
from loamery.blend.program import EXACT, NOT_EMPTY, Limit, Problem, shown
from loamery.blend.ratios import Ratio, ratios, share_ratio
from loamery.blend.result import BlendResult, LimitState, Portion
from loamery.finding import Band, Finding, Input, Ledger, Trace, by_severity
from loamery.reference import coefficient
from loamery.say import say
from loamery.uncertain import band

Array = NDArray[np.float64]
BINDS = 1e-6  # share of a range below which a limit is said to bind


@dataclass(frozen=True, eq=False)
class Solved:
    """What the solver found.

    Parameters
    ----------
    x : amounts in lots, water last.
    asked : share of fresh draws asked for; None for the medians only.
    flagged : the share cannot be had, x is for the medians.
    reliable : the amounts that miss the fewest draws, when flagged.
    proven : whether the solver had time to prove that there is none better.
    """

    x: Array
    asked: float | None = None
    flagged: bool = False
    reliable: Array | None = None
    proven: bool = True


@dataclass(frozen=True, eq=False)
class _Built:
    """A blend as built in a set of draws: masses of shape (ingredients, draws) and water."""

    matter: Matter
    mass_kg: Array
    water_kg: float
    ratios: dict[str, Ratio]

    def value(self, about: str) -> Array:
        kind, _, name = about.partition("/")
        ratio = share_ratio(self.matter, name, kind == "volume_share") if name else self.ratios[about]
        assert ratio is not None
        return ratio.value(self.mass_kg, self.water_kg)


def _built(asked: Problem, x: Array, matter: Matter) -> _Built:
    per_lot = np.broadcast_to(asked.lot_kg[:, None], matter.moisture.shape)
    if asked.whole:
        assert matter.bulk_density is not None and asked.median.bulk_density is not None
        per_lot = per_lot / asked.median.bulk_density * matter.bulk_density
    mass = np.asarray(per_lot * x[:-1, None])
    return _Built(matter, mass, float(x[-1] * asked.water_lot_kg), ratios(matter, asked.packing))


def account(
    asked: Problem, solved: Solved, fresh: Matter, bounds: Bounds, objective: str,
    objective_value: tuple[float, str] | None, bucket_l: float,
) -> BlendResult:  # fmt: skip
    """Return everything that is to be said about a solved blend.

    Parameters
    ----------
    fresh : draws the solution has never seen; bands and shares kept are measured on them.
    """
    drawn, median = _built(asked, solved.x, fresh), _built(asked, solved.x, asked.median)
    kg = dict(zip(asked.median.names, (float(one) for one in median.mass_kg[:, 0]), strict=True))
    # a total is two rows, told once
    told = {one.name: one for one in asked.limits if one.name != NOT_EMPTY}.values()
    limits = tuple(_state(one, asked, solved, bounds, median, drawn, kg) for one in told)
    kept = coverage(asked, solved.x, fresh)
    values = {key: _band(key, drawn.value(key)) for key in QUANTITIES if key in drawn.ratios}
    values = {key: one for key, one in values.items() if math.isfinite(one.median)}
    reliable = None if solved.reliable is None else _amounts(asked, solved.reliable)
    reliable_coverage = None if solved.reliable is None else coverage(asked, solved.reliable, fresh)
    portions = tuple(_portion(one, kg[one.name], asked, i, bucket_l) for i, one in enumerate(asked.ingredients))
    came_to, came_unit = objective_value or (None, "")
    total_kg = sum(kg.values()) + median.water_kg
    total_l = _litres(asked, median)
    findings = [
        *_about_coverage(solved, kept, reliable_coverage),
        *(Finding("not_checked", "warning", text, say("the composition lacks a figure")) for text in asked.unchecked),
        *([] if solved.proven else [_unproven()]),
        *_advice(median),
    ]
    return BlendResult(
        portions, median.water_kg, total_kg, total_l, values, limits,
        kept if fresh.draws > 1 else None, solved.asked, solved.flagged, reliable, reliable_coverage,
        objective, came_to, came_unit, findings=tuple(by_severity(findings)),
        traces=_traces(asked, median, portions, values, bounds),
    )  # fmt: skip


def _portion(ingredient: Ingredient, kg: float, asked: Problem, at: int, bucket_l: float) -> Portion:
    vessel = ingredient.vessel_l or bucket_l
    if asked.median.bulk_density is None:
        rho = ingredient.median("bulk_density")
    else:
        rho = float(asked.median.bulk_density[at, 0])
    litres = None if math.isnan(rho) else 1000.0 * kg / rho
    vessels = None if litres is None else litres / vessel
    if asked.whole and vessels is not None:
        vessels = float(round(vessels))
    return Portion(ingredient.name, kg, litres, vessels, vessel)


def _litres(asked: Problem, median: _Built) -> float | None:
    if asked.median.bulk_density is None:
        return None
    return 1000.0 * float(mix.blend_volume_m3(median.mass_kg, asked.median.bulk_density, asked.packing)[0])


def _amounts(asked: Problem, x: Array) -> dict[str, float]:
    return {**dict(zip(asked.median.names, asked.lot_kg * x[:-1], strict=True)), "added water": asked.lots[-1] * x[-1]}


def _band(key: str, draws: Array) -> Band:
    unit, factor = UNITS[key]
    if not np.all(np.isfinite(draws)):
        return Band(math.nan, math.nan, math.nan, unit)
    return band(draws, unit, factor)


def _holds(values: Array, goal: float, side: int) -> Array:
    return np.asarray(side * (values - goal) >= -EXACT * max(abs(goal), 1.0))


def coverage(asked: Problem, x: Array, fresh: Matter) -> float:
    """Return the share of draws in which every bound on the mixture holds."""
    built = _built(asked, x, fresh)
    kept = np.ones(fresh.draws, dtype=bool)
    for one in asked.limits:
        if one.kind in ("ratio", "share"):
            kept &= _holds(built.value(one.about), one.goal, one.side)
    return float(kept.mean())


def _state(
    limit: Limit, asked: Problem, solved: Solved, bounds: Bounds, median: _Built, drawn: _Built, kg: dict[str, float]
) -> LimitState:
    if limit.kind in ("ratio", "share"):
        value = float(median.value(limit.about)[0])
        kept = float(_holds(drawn.value(limit.about), limit.goal, limit.side).mean())
    else:
        value, kept = _amount(limit, asked, median, kg), 1.0
    width = _width(limit, bounds)
    near = limit.side * (value - limit.goal) / width
    binds = abs(near) <= BINDS
    if solved.asked is not None and not solved.flagged and len(limit.scenarios):
        # a robust blend may stop at a bound in one of the draws it has to hold in, not at the medians
        binds |= bool(np.any(np.abs(limit.scenarios @ solved.x) <= BINDS * np.abs(solved.x).max()))
    return LimitState(limit.name, limit.about, float(limit.goal), float(value), float(near), bool(binds), float(kept))


def _amount(limit: Limit, asked: Problem, median: _Built, kg: dict[str, float]) -> float:
    if limit.about == "total_kg":
        return sum(kg.values()) + median.water_kg
    if limit.about == "total_l":
        return _litres(asked, median) or 0.0
    return kg[limit.about]


def _width(limit: Limit, bounds: Bounds) -> float:
    """Return what nearness is a share of: the range where it has two ends, else the bound itself."""
    one = bounds.ranges().get(limit.about)
    if one is not None and one.low is not None and one.high is not None and one.high > one.low:
        return one.high - one.low
    return abs(limit.goal) or 1.0


def _about_coverage(solved: Solved, kept: float, reliable: float | None) -> list[Finding]:
    if solved.asked is None:
        return []
    asked, sources = f"{solved.asked:.0%}", (coefficient("blend_keep_share").source,)
    if not solved.flagged:
        text = say(
            "All bounds hold together in {kept:.0%} of fresh draws of the compositions; {asked} was asked for.",
            kept=kept,
            asked=asked,
        )
        return [Finding("bounds_kept", "note", text, say("measured on draws the blend was not chosen with"), sources)]
    best = 0.0 if reliable is None else max(reliable, kept)
    text = say(
        "What is known of these materials is too uncertain for a blend that keeps all bounds in {asked} of cases: the "
        "best found keeps them in {best:.0%}. The blend shown is for the medians and keeps them in {kept:.0%}.",
        asked=asked, best=best, kept=kept,
    )  # fmt: skip
    return [
        Finding(
            "bounds_not_sure", "warning", text, say('measured on draws the blend was not chosen with'), sources,
            proposal=say('Have the most uncertain material tested, widen a bound, or correct as you build.'),
        )
    ]  # fmt: skip


def _unproven() -> Finding:
    text = say("The solver ran out of time: this is the best blend found, a slightly better one may exist.")
    return Finding("not_proven", "note", text, say("whole vessels are tried one combination after another"))


def _advice(median: _Built) -> list[Finding]:
    found = [_water(median)] if median.water_kg > BINDS * float(median.mass_kg.sum()) else []
    return [one for one in (*found, _airy(median), _settled(median), _sour(median), _salty(median)) if one is not None]


def _water(median: _Built) -> Finding:
    return Finding(
        "add_water", "note", say('Add {water_kg:.3g} litres of water while building, layer by layer.', water_kg=median.water_kg),
        say('water fills pores; the amount follows the median moistures'), ("PRACTICE",),
        proposal=say('Stop when a handful squeezed hard just gives a drop (common practice, no source).'),
    )  # fmt: skip


def _airy(median: _Built) -> Finding | None:
    if "free_air_space" not in median.ratios:
        return None
    value, most = float(median.value("free_air_space")[0]), coefficient("fas_max")
    if value <= most.value:
        return None
    text = say(
        "Loosely filled, {value:.0%} of the volume is air: it will settle, and dries and cools faster until it has.",
        value=value,
    )
    return Finding(
        "airy", "note", text, say("free air space above {most:.0%}, volumes added up", most=most.value), (most.source,)
    )


def _settled(median: _Built) -> Finding | None:
    one = median.matter
    if one.fines is None or one.bulk_density is None or one.om_dm is None or one.ash_dm is None:
        return None
    parts = (median.mass_kg, one.moisture, one.om_dm, one.ash_dm)
    volume = mix.densest_volume_m3(*parts, one.bulk_density, one.fines)
    condensed = mix.total(median.mass_kg, mix.condensed_m3_per_kg(*parts[1:]))
    condensed = condensed + median.water_kg / coefficient("rho_water").value
    air, least = float((1.0 - condensed / volume)[0]), coefficient("fas_min")
    if air >= least.value:
        return None
    text = say(
        "If the fines work into all pores of the coarse pieces, only {air:.0%} of the volume stays air.",
        air=max(air, 0.0),
    )
    return Finding(
        "may_seal", "note", text, say('densest packing of two sizes, against {least:.0%}', least=least.value), (least.source,),
        proposal=say('Turn it when it sinks, or use coarser pieces.'),
    )  # fmt: skip


def _sour(median: _Built) -> Finding | None:
    if median.matter.ph is None:
        return None
    parts = (median.mass_kg, median.matter.moisture, median.matter.ph)
    by_mass, by_protons = float(mix.ph_by_mass(*parts)[0]), float(mix.ph_by_protons(*parts)[0])
    low, high = coefficient("ph_low"), coefficient("ph_high")
    if low.value <= by_protons and by_mass <= high.value:
        return None
    least, most = sorted((by_mass, by_protons))
    text = say("The pH of the blend may be about {least:.1f} to {most:.1f}.", least=least, most=most)
    because = say(
        "by hydrogen ions and by mass, a guide only: buffering is not known; {low:g}-{high:g} suits",
        low=low.value,
        high=high.value,
    )
    return Finding("ph_advice", "note", text, because, (low.source,))


def _salty(median: _Built) -> Finding | None:
    if "salt" not in median.ratios:
        return None
    value, most = float(median.value("salt")[0]), salt_advice_s_m()
    if value <= most:
        return None
    text = say("The blend may be salty: about {salt}.", salt=shown("salt", value))
    because = say("conductivities weighted by dry mass, a guide only, against {salt}", salt=shown("salt", most))
    return Finding("salt_advice", "warning", text, because, (coefficient("ec_blend_max").source,))


_EQUATIONS = {
    "cn": "sum(m (1-w) C) / sum(m (1-w) N)",
    "moisture": "(sum(m w) + water) / (sum(m) + water)",
    "free_air_space": "1 - (sum(m (w/rho_water + (1-w)(OM/rho_organic + ash/rho_ash))) + water/rho_water) / sum(m/rho)",
    "bulk_density": "(sum(m) + water) / sum(m/rho)",
    "fines": "sum(m (1-w) fines) / sum(m (1-w))",
    "nitrogen": "sum(m (1-w) N) / sum(m (1-w))",
    "salt": say("sum(m (1-w) EC) / sum(m (1-w)), a guide only"),
}
_NEEDS = {
    "cn": ("moisture", "c_dm", "n_dm"), "moisture": ("moisture",),
    "free_air_space": ("moisture", "ash_dm", "bulk_density"), "bulk_density": ("bulk_density",),
    "fines": ("moisture", "fines"), "nitrogen": ("moisture", "n_dm"), "salt": ("moisture", "ec"),
}  # fmt: skip


def _traces(
    asked: Problem, median: _Built, portions: tuple[Portion, ...], values: dict[str, Band], bounds: Bounds
) -> Ledger:
    names = dict.fromkeys(one.name for one in asked.limits if one.name != NOT_EMPTY)
    ledger, limits = Ledger(), tuple(Input(say("limit"), name) for name in names)
    for one in portions:
        ledger.add(
            Trace(
                f"blend/amount/{one.name}", say('How much {name} goes in', name=one.name), say('{kg:.4g} kg', kg=one.kg),
                say('chosen by a linear programme: the best amounts under all limits'), limits,
                note=say('ties go to the blend nearest its preferred ranges'),
            )
        )  # fmt: skip
    for key, spread in values.items():
        inputs = [
            Input(say("{name}, mass", name=one.name), say("{kg:.4g} kg", kg=one.kg), trace=f"blend/amount/{one.name}")
            for one in portions
        ]
        inputs += [
            Input(say("added water"), say("{water_kg:.4g} kg", water_kg=median.water_kg)),
            *_readings(asked, key),
        ]
        sources = list(bounds.ranges()[key].sources if key in bounds.ranges() else ())
        sources += ["RICH04"] if key == "free_air_space" else []
        shape = say(
            "{median:.4g} ({low:.4g} to {high:.4g})", median=spread.median, low=spread.low, high=spread.high
        ) + (f" {spread.unit}" if spread.unit else "")
        note = (
            say("volumes are taken to add up; water fills pores") if key in ("free_air_space", "bulk_density") else ""
        )
        title = say("{ratio} of the blend", ratio=median.ratios[key].label)
        ledger.add(Trace(f"blend/{key}", title, shape, _EQUATIONS[key], tuple(inputs), tuple(sources), note))
    return ledger


_READ = {
    "moisture": ("moisture", say(" kg/kg as received")),
    "c_dm": ("C", say(" kg/kg dry")),
    "n_dm": ("N", say(" kg/kg dry")),
    "ash_dm": ("ash", say(" kg/kg dry")),
    "bulk_density": ("bulk_density", " kg/m3"),
    "fines": ("fines_share", ""),
    "ec": ("EC", " S/m"),
}
"""Key in a composition and unit, by quantity of an ingredient."""


def _readings(asked: Problem, key: str) -> list[Input]:
    made = []
    for one in asked.ingredients:
        for need in _NEEDS[key]:
            name, unit = _READ[need]
            value = say("{value:.4g}{unit}", value=one.median(need), unit=unit)
            made.append(
                Input(
                    say("{name}, {words}", name=one.name, words=WORDS[need]),
                    value,
                    trace=f"composition/{one.name}/{name}",
                )
            )
    return made
