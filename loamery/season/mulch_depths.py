"""How deep each mulch may lie: as published, or less where the heap model says that this garden's warmest month bears less."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from loamery.errors import InputError
from loamery.finding import Finding
from loamery.garden.model import Garden
from loamery.heap.matter import Part
from loamery.heap.mulch_depth import greatest_depth
from loamery.lab.composition import Composition
from loamery.say import say
from loamery.season.plan import SeasonPlan
from loamery.season.problem import Problem
from loamery.season.stuff import Stuff, published_depth_m
from loamery.units import show
from loamery.words import quantity_text

MULCH_DRAWS = 12
"""Of layers run; the sheet of layers and the fact sheet run as many, so that all tell one limit."""


def mulch_site(garden: Garden) -> tuple[float, float]:
    """Return the air and the rain under which a mulch must hold, °C and mm a month: those of the warmest month."""
    temps = garden.climate.mean_temp_c
    warmest = temps.index(max(temps))
    return temps[warmest], garden.climate.rain_mm[warmest]


def bearable(stuff: Stuff, composition: Composition, garden: Garden) -> Stuff:
    """Return a material with the depth of mulch that the garden's warmest month bears, where that is less than published.

    Notes
    -----
    The low end of the model's 90 % band counts: 19 of 20 draws bear it. A material that lacks a figure which the model needs
    keeps the published depth.
    """
    if "mulch" not in stuff.uses or stuff.mulch_depth_m <= 0:
        return stuff
    air_c, month_mm = mulch_site(garden)
    most = stuff.mulch_depth_m
    try:
        found = greatest_depth(
            (Part(composition, 1.0),), air_c, month_mm, most_m=most, draws=MULCH_DRAWS, seed=garden.info.seed
        )
    except InputError:
        return stuff
    return replace(stuff, mulch_depth_m=found.depth.low, mulch_fault=found.fault) if found.depth.low < most else stuff


def mulch_findings(plan: SeasonPlan, problem: Problem) -> Iterator[Finding]:
    """Say which mulches of the plan lie thinner than is published, and why."""
    used = {one.stuff for one in plan.actions if one.task == "mulch"}
    for stuff in problem.raw:
        if stuff.id in used and stuff.mulch_fault:
            depth, published = (
                quantity_text(*show(one, "depth", problem.garden.info.units), digits=2)
                for one in (stuff.mulch_depth_m, published_depth_m(stuff.kind))
            )
            yield Finding(
                "mulch_bears_less",
                "note",
                say(
                    "{name}: no more than {depth} of mulch may lie at a time, where {published} is published.",
                    name=stuff.name, depth=depth, published=published,
                ),
                thicker_words(stuff.mulch_fault),
                ("JUDGE",),
                about=stuff.name,
                proposal=say("lay it thinly, and again when it has decayed"),
            )  # fmt: skip


def thicker_words(fault: str) -> str:
    """Return what may happen under a thicker layer in the warmest month, by the heap model."""
    return {
        "airless": say("in the warmest month of this garden a thicker layer may go airless (heap model, one draw in twenty)"),
        "heats": say("in the warmest month of this garden a thicker layer may heat (heap model, one draw in twenty)"),
        "seals": say("a heavy shower may run off a thicker layer instead of wetting the soil (heap model, one draw in twenty)"),
    }[fault]  # fmt: skip
