"""What a person has to know of a gift to a bed, as findings with their reasons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from loamery.bed.answer import BedAnswer
from loamery.bed.demand import crop_name
from loamery.bed.matter import FAST_N_POOR
from loamery.bed.soil import SoilTest, soil_limits
from loamery.finding import Finding
from loamery.names import quantity
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.units import System, from_si, to_si
from loamery.words import number, quantity_text, rate_text

YIELD_TOLD = 0.97
"""A crop that keeps this share of its yield is not told to suffer from salt."""
FULL = 1.0


def bed_advice(
    answer: BedAnswer, kinds: Sequence[str], about: str = "", system: System = "metric"
) -> tuple[Finding, ...]:
    """Return the warnings and notes a gift calls for, none where nothing is amiss.

    Parameters
    ----------
    kinds : slugs of the materials given. about : name of the bed. system : units of the texts.
    """
    found = [
        *_drawdown(answer, system),
        *_ph(answer),
        *_salt(answer, system),
        *_ceilings(answer, system),
        *_seedlings(answer, kinds),
        *_leaching(answer, system),
    ]
    return tuple(replace(one, about=about) for one in found)


def _drawdown(answer: BedAnswer, system: System) -> list[Finding]:
    told = coefficient("bed_drawdown_told")
    if answer.lowest.median > -told.value:
        return []
    week = answer.back_week
    back = (
        say("not paid back within this season")
        if week is None
        else say("paid back after about {weeks} weeks", weeks=week + 1)
    )
    dug = any(not one.on_surface for one in answer.question.portions)
    return [
        Finding(
            "bed_draws_down", "warning",
            say('It takes nitrogen out of the soil first: {what} after {lowest_week} weeks; {back}.', what=rate_text(-answer.lowest.median, system), lowest_week=answer.lowest_week + 1, back=back),
            say('decomposers need more nitrogen than it holds (C:N {c_to_n:.0f}); so in {value:.0f} % of draws', c_to_n=_c_to_n(answer), value=100 * answer.drawing_share),
            (told.source, coefficient("bed_biomass_cn").source),
            proposal=say('compost it first, or lay it on the surface, or give it weeks before sowing') if dug else say('keep it off seedlings'),
            band=answer.lowest,
        )
    ]  # fmt: skip


def _c_to_n(answer: BedAnswer) -> float:
    pairs = list(zip(answer.question.portions, answer.question.kg_m2, strict=True))
    carbon = sum(kg * float(np.median(one.matter.carbon)) for one, kg in pairs)
    return carbon / max(float(answer.brought["N"].median) / 1000.0, 1e-9)


def _ph(answer: BedAnswer) -> list[Finding]:
    told = coefficient("bed_ph_told")
    if max(abs(answer.ph_moved.low), abs(answer.ph_moved.high)) < told.value:
        return []
    way = say("up") if answer.ph_moved.median > 0 else say("down")
    low, high = coefficient("bed_ph_linear_low"), coefficient("bed_ph_linear_high")
    bent = (
        ""
        if low.value <= answer.ph_before <= high.value
        else say(
            "; outside pH {low:g} to {high:g} a soil resists more or less than this line says",
            low=low.value,
            high=high.value,
        )
    )
    return [
        Finding(
            "bed_ph_moves", "warning",
            say("It may move the soil's pH {way} by {median} ({low} to {high}).", way=way, median=number(abs(answer.ph_moved.median), 2), low=number(answer.ph_moved.low, 2), high=number(answer.ph_moved.high, 2)),
            say('acid and lime it sets free, against what {soil_kg_m2:.0f} kg/m2 of soil holds{bent}', soil_kg_m2=float(answer.question.place.soil_kg_m2[0, 0]), bent=bent),
            (coefficient("phbc_scale").source, low.source, told.source),
            proposal=say("give less, or spread it over years; test the soil's pH a year later"),
            band=answer.ph_moved,
        )
    ]  # fmt: skip


def _salt(answer: BedAnswer, system: System) -> list[Finding]:
    hurt = {slug: one for slug, one in answer.yields.items() if one.median < YIELD_TOLD}
    room = coefficient("ec_rise_per_application")
    rise = answer.ec_peak.median - answer.ec_before
    if not hurt and rise <= room.value:
        return []
    crops = joined(
        ", ",
        (
            say("{crop} {lost:.0f} %", crop=crop_name(slug).lower(), lost=100 * (1 - one.median))
            for slug, one in hurt.items()
        ),
    )
    after = (
        say(" Yield it costs: {crops}.", crops=crops) if crops else say(" Rain and watering wash it out within weeks.")
    )
    return [
        Finding(
            "bed_salts_up", "warning",
            say('It is salty: the soil rises from {ec_before} to {median} dS/m before it rains.{after}', ec_before=number(answer.ec_before, 2), median=number(answer.ec_peak.median, 2), after=after),
            say('{median} of soluble salts in {depth_m:.2f} m of soil', median=rate_text(answer.brought['salt'].median, system), depth_m=float(answer.question.place.depth_m[0, 0])),
            (room.source, coefficient("salt_per_ec").source),
            proposal=say('give less at a time, water it in before sowing, keep it off seedlings'),
            band=answer.ec_peak,
        )
    ]  # fmt: skip


def _ceilings(answer: BedAnswer, system: System) -> list[Finding]:
    full = [one for one in answer.reaches if one.share > FULL]
    return [
        Finding(
            "bed_ceiling_passed", "warning",
            say('It brings {share} times the {name} this bed may take in a season.', share=number(one.share, 2), name=_name(one.ceiling.key)),
            say('{from_si} against {from_si2}: {because}', from_si=rate_text(from_si(one.load.median, 'g/m2'), system), from_si2=rate_text(from_si(one.ceiling.limit_kg_m2, 'g/m2'), system), because=one.ceiling.because),
            one.ceiling.sources,
            proposal=say('give at most {value} of it', value=number(1.0 / one.share, 2)),
        )
        for one in full
    ]  # fmt: skip


def _name(key: str) -> str:
    return "salt" if key == "salt" else quantity(key).label.lower()


def _seedlings(answer: BedAnswer, kinds: Sequence[str]) -> list[Finding]:
    """Return a warning for raw coffee worked in: seedlings fail for reasons that are not nitrogen."""
    most = coefficient("coffee_dug_share_max")
    wait = coefficient("bed_seedling_wait_coffee")
    volume = sum(
        kg / float(np.median(one.matter.density_kg_m3))
        for one, kg, kind in zip(answer.question.portions, answer.question.kg_m2, kinds, strict=True)
        if kind in FAST_N_POOR and not one.on_surface and one.raw
    )
    share = volume / float(answer.question.place.depth_m[0, 0])
    if share <= most.value:
        return []
    return [
        Finding(
            "bed_seedlings", "warning",
            say('Raw coffee at {value:.1f} % of the soil holds back seeds and young plants.', value=100 * share),
            say('trials saw less growth from 2.5 % by volume, and neither pH nor nitrogen explained it; advice stops at {value:g} %', value=100 * most.value),
            (wait.source, most.source),
            proposal=say('compost it, or wait about {wait:g} weeks before sowing', wait=wait.value),
        )
    ]  # fmt: skip


def _leaching(answer: BedAnswer, system: System) -> list[Finding]:
    most = coefficient("n_supply_surplus_max")
    if answer.leached.median <= most.value:
        return []
    return [
        Finding(
            "bed_leaches", "warning",
            say('{median} more nitrogen drains away than without it.', median=rate_text(answer.leached.median, system)),
            say('more comes free than the crop takes while water drains'),
            (most.source, coefficient("bed_leach_efficiency").source),
            proposal=say('give less, later, or to a bed with a hungry crop'),
            band=answer.leached,
        )
    ]  # fmt: skip


def trace_advice(answer: BedAnswer, test: SoilTest, jurisdiction: str, about: str = "") -> tuple[Finding, ...]:
    """Return what the gift does to trace elements the soil was tested for, held against the place's soil guidelines.

    Parameters
    ----------
    test : of the bed. jurisdiction : key of jurisdictions.csv.
    """
    found = []
    for key, (limit, row) in soil_limits(jurisdiction).items():
        before = test.value(key)
        if before is None or key not in answer.brought:
            continue
        added = answer.brought[key].median * to_si(1.0, "g/m2") / float(answer.question.place.soil_kg_m2[0, 0])
        after = before + added
        if after <= limit:
            continue
        already = say("already ") if before > limit else ""
        found.append(
            Finding(
                "bed_trace_limit", "warning",
                say('{quantity} in this soil is {already}above the guideline: {ppm} before, {ppm2} with it, guideline {ppm3}.', quantity=quantity(key).label, already=already, ppm=_ppm(before), ppm2=_ppm(after), ppm3=_ppm(limit)),
                say('soil test, and {ppm} brought by the gift; {row}', ppm=_ppm(added), row=row['instrument']),
                (row["source"],), about=about,
                proposal=say('grow what is eaten elsewhere or in raised soil; ask the public health office'),
                caution=say('A guideline is not a health line. Follow local codes; ask a licensed professional.'),
            )
        )  # fmt: skip
    return tuple(found)


def _ppm(fraction: float) -> str:
    return quantity_text(from_si(fraction, "mg/kg"), "mg/kg")
