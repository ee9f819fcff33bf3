"""Where the numbers of a plan come from: a trace for every figure of a composition, a bed and a batch."""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import replace

from loamery.bed.demand import crop_name
from loamery.bed.soil import class_source, show_value
from loamery.finding import Band, Input, Ledger, Trace
from loamery.lab.composition import Composition
from loamery.names import quantity
from loamery.reference import coefficient
from loamery.say import say
from loamery.season.plan import Batch, BedPlan, SeasonPlan
from loamery.units import from_si, show
from loamery.words import band_text, mass_text, quantity_text, rate_band, rate_text


def composition_traces(composition: Composition, name: str) -> Ledger:
    """Return a trace for every quantity of a composition, ids ``composition/MATERIAL/KEY``."""
    ledger = Ledger()
    for key, one in composition.estimates.items():
        label = quantity(one.quantity).label
        what: str = label.lower() if label[1:2].islower() else label
        if key.endswith(":extractable"):
            what = say("{what} (extractable)", what=what)
        ledger.add(
            Trace(
                id=f"composition/{composition.material}/{key}",
                title=say("{name}: {what}", name=name, what=what),
                value=band_text(one.band())
                + {"dry": say(" of dry matter"), "as_received": say(" as received")}.get(one.basis, ""),
                equation=one.equation,
                inputs=one.inputs,
                sources=one.sources,
                note=say("{origin}; median and 90 % band of the next load", origin=one.origin),
            )
        )
    return ledger


def plan_traces(plan: SeasonPlan) -> Ledger:
    """Return the traces of beds, batches and totals of a plan."""
    ledger = Ledger()
    for bed in plan.beds:
        for trace in (*_need(plan, bed), *_soil(plan, bed), *_supply(plan, bed), *_ceilings(plan, bed)):
            ledger.add(trace)
    for batch in plan.batches:
        ledger.add(_batch(plan, batch))
        own = {trace.id for trace in batch.recipe.blend.traces}
        for trace in batch.recipe.blend.traces:
            ledger.add(_prefixed(trace, batch.recipe.id, own, plan.ledger))
    return ledger


def _prefixed(trace: Trace, recipe: str, own: Container[str], known: Container[str]) -> Trace:
    """Return a blend's trace under the name of its recipe.

    Links to the blend's own traces follow it there, links to a composition stay, and what no report speaks of is said
    to come from the reference data.
    """

    def followed(one: Input) -> Input:
        if one.trace in own:
            return replace(one, trace=f"{recipe}/{one.trace}")
        return one if one.trace in known else replace(one, trace="", where=one.where or "material_values.csv")

    return replace(trace, id=f"{recipe}/{trace.id}", inputs=tuple(followed(one) for one in trace.inputs))


def _link(trace: str, recipe: str) -> str:
    """Return where a blend's link leads: to a composition of the garden as it is, otherwise into the recipe."""
    return trace if not trace or trace.startswith("composition/") else f"{recipe}/{trace}"


def _need(plan: SeasonPlan, bed: BedPlan) -> Iterator[Trace]:
    rules = {
        "N": say(
            "sum over plantings: yield × N removed by harvest ÷ share of N in the harvest × share of bed (legumes less)"
        ),
        "P": say("sum over plantings: yield × P removed by harvest × share of bed × factor of the soil's class"),
        "K": say("sum over plantings: yield × K removed by harvest × share of bed × factor of the soil's class"),
    }
    system = plan.garden.info.units
    for key, rule in rules.items():
        inputs, sources = [], []
        for planting, demand in zip(bed.need_data.plantings, bed.need_data.demands, strict=True):
            grams = rate_text(from_si(getattr(demand, f"{key.lower()}_kg_m2"), "g/m2"), system)
            harvest = quantity_text(*show(demand.yield_kg_m2, "rate", system))
            shown = say(
                "{grams} at {harvest}, on {share:.0%} of the bed", grams=grams, harvest=harvest, share=planting.share
            )
            inputs.append(Input(crop_name(demand.crop), shown, say("plantings.csv and crop_values.csv")))
            for name in ("yield", f"removal_{key}", *(("n_harvest_index",) if key == "N" else ())):
                figure = demand.figures[name]
                band = Band(figure.value, figure.low, figure.high, figure.unit)
                text = say("{band}, {read}", band=band_text(band), read=figure.read)
                inputs.append(
                    Input(
                        say("{crop_name}: {name}", crop_name=crop_name(demand.crop), name=name.replace("_", " ")),
                        text,
                        say("crop_values.csv"),
                    )
                )
                sources += list(figure.sources)
        if key != "N":
            factor = coefficient(f"suff_factor_{key.lower()}_{bed.need_data.class_of(key)}")
            inputs.append(
                Input(
                    say("soil {key} is {class_of}", key=key, class_of=bed.need_data.class_of(key).replace("_", " ")),
                    say("× {factor:g}", factor=factor.value),
                )
            )
            sources.append(factor.source)
        yield Trace(
            id=f"bed/{bed.id}/need/{key}",
            title=say("{name}: {quantity} needed", name=bed.name, quantity=quantity(key).label.lower()),
            value=rate_text(bed.need[key], system),
            equation=rule,
            inputs=tuple(inputs),
            sources=tuple(dict.fromkeys(sources)),
        )


def _soil(plan: SeasonPlan, bed: BedPlan) -> Iterator[Trace]:
    matter = bed.need_data.test.values.get("organic_matter")
    shown = (
        show_value(matter)
        if matter
        else say("{coefficient:.1%}, assumed", coefficient=coefficient("soil_om_default").value)
    )
    yield Trace(
        id=f"bed/{bed.id}/soil/N",
        title=say("{name}: nitrogen from the soil's own organic matter", name=bed.name),
        value=say("{soil_n} in the season", soil_n=rate_text(bed.soil_n[-1], plan.garden.info.units)),
        equation=say("organic matter × nitrogen released for each per cent, spread over the weeks by warmth"),
        inputs=(
            Input(say("organic matter"), shown, str(matter.where) if matter else say("coefficients_season.csv")),
            Input(
                say("release"),
                say(
                    "{coefficient:g} g/m² for each per cent",
                    coefficient=coefficient("soil_n_supply_per_percent_som").value,
                ),
            ),
        ),
        sources=(coefficient("soil_n_supply_per_percent_som").source,),
    )
    for key, value in bed.need_data.test.values.items():
        found = bed.need_data.test.nutrient_class(key)
        yield Trace(
            id=f"bed/{bed.id}/test/{key}",
            title=say(
                "{name}: soil {what}", name=bed.name, what=quantity(key).label.lower() if key != "pH" else say("pH")
            ),
            value=show_value(value) + (say(", {found}", found=found.replace("_", " ")) if found else ""),
            equation=say("as reported") + (say(", class by the extractant's own table") if found else ""),
            inputs=(Input(value.raw_name or key, f"{value.raw_value} {value.raw_unit}".strip(), str(value.where)),),
            sources=tuple(filter(None, [class_source(key, value.method) if found else ""])),
        )


def _supply(plan: SeasonPlan, bed: BedPlan) -> Iterator[Trace]:
    system = plan.garden.info.units
    rules = {
        "N": say("kg × (mineral N + organic N × share that the bed model releases by the end of the season) ÷ area"),
        "P": say("kg × total P × share available in the first season ÷ area"),
        "K": say("kg × total K × share available in the first season ÷ area"),
    }
    for key, rule in rules.items():
        inputs = tuple(
            Input(
                say(
                    "{stuff_name}, {what}, {kg}",
                    stuff_name=one.stuff_name,
                    what=say("mulch") if one.use == "mulch" else say("worked in"),
                    kg=mass_text(one.kg, system),
                ),
                rate_band(getattr(one, key.lower()), system),
                "",
                _composition_link(plan, one.stuff, key),
            )
            for one in bed.given
        )
        yield Trace(
            id=f"bed/{bed.id}/supply/{key}",
            title=say("{name}: {quantity} supplied", name=bed.name, quantity=quantity(key).label.lower()),
            value=rate_band(bed.supplied[key], system),
            equation=rule,
            inputs=inputs or (Input(say("nothing is spread on this bed"), "0"),),
            sources=_supply_sources(key),
            note=say("median and 90 % band over the draws of composition, decay and availability"),
        )


def _supply_sources(key: str) -> tuple[str, ...]:
    names = {
        "N": ("bed_biomass_cn", "q10", "surface_contact_factor", "mulch_interface_share"),
        "P": ("p_availability",),
        "K": ("k_availability",),
    }
    return tuple(dict.fromkeys(coefficient(name).source for name in names[key]))


def _composition_link(plan: SeasonPlan, stuff: str, key: str) -> str:
    """Return the trace of the nutrient in a raw material, or of the batch a compost comes from."""
    if stuff in plan.compositions:
        return f"composition/{stuff}/{key}"
    return next((f"batch/{one.id}" for one in plan.batches if one.recipe.id == stuff), "")


def _ceilings(plan: SeasonPlan, bed: BedPlan) -> Iterator[Trace]:
    system = plan.garden.info.units
    for one in bed.ceilings:
        key = one.ceiling.key
        limit = rate_text(from_si(one.ceiling.limit_kg_m2, "g/m2"), system)
        name = say("soluble salts") if key == "salt" else quantity(key).label.lower()
        yield Trace(
            id=f"bed/{bed.id}/ceiling/{key}",
            title=say("{name}: {name2} added against its ceiling", name=bed.name, name2=name),
            value=say("{band} of {limit}", band=rate_band(one.band, system), limit=limit),
            equation=say(
                "kg × content ÷ area, against the ceiling; what no one measured or published counts as nothing"
            ),
            inputs=(Input(say("ceiling"), limit, one.ceiling.because),),
            sources=one.ceiling.sources,
        )


def _batch(plan: SeasonPlan, batch: Batch) -> Trace:
    loss = {key: coefficient(f"heap_{key}_loss") for key in ("dm", "c", "n", "p", "k")}
    parts = [
        Input(
            plan.garden.material(key).name,
            say("{kg} as received", kg=mass_text(kg, plan.garden.info.units)),
            "",
            f"composition/{key}/moisture",
        )
        for key, kg in batch.parts_kg.items()
    ]
    losses = [
        Input(
            say("loss of {what}", what=key.upper() if key != "dm" else say("dry matter")),
            say("{one:.0%}", one=one.value),
        )
        for key, one in loss.items()
    ]
    return Trace(
        id=f"batch/{batch.id}",
        title=say("{heap_name}: compost from the batch of {day}", heap_name=batch.heap_name, day=batch.day.isoformat()),
        value=say(
            "{compost_kg}, ready about {ready_day}",
            compost_kg=mass_text(batch.compost_kg, plan.garden.info.units),
            ready_day=batch.ready_day.isoformat(),
        ),
        equation=say("dry matter of the parts × (1 - loss) ÷ (1 - moisture of finished compost)"),
        inputs=(*parts, Input(say("water added"), say("{water_l:.0f} L", water_l=batch.water_l)), *losses),
        sources=tuple(
            dict.fromkeys((*(one.source for one in loss.values()), coefficient("heap_lead_time_weeks").source))
        ),
        note=say("published factors; the heap model will replace them"),
    )
