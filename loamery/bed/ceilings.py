"""How much a bed may take in one season: phosphorus, potassium, salt and trace elements."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loamery.bed.demand import crop_name
from loamery.bed.release import salt_rise
from loamery.bed.soil import UNTESTED, SoilTest
from loamery.garden.model import Bed, Planting
from loamery.reference import coefficient, table
from loamery.reference.lookup import Figure, figure
from loamery.say import say
from loamery.units import to_si


@dataclass(frozen=True)
class Ceiling:
    """The most a bed may receive of one thing in one season.

    Parameters
    ----------
    key : ``P``, ``K``, ``salt`` or a trace element.
    limit_kg_m2 : kg per m2 (for salt: kg of soluble salts).
    because : why, in words with the figures.
    sources : source keys.
    """

    key: str
    limit_kg_m2: float
    because: str
    sources: tuple[str, ...]


def nutrient_ceiling(key: str, test: SoilTest, removal_kg_m2: float) -> Ceiling:
    """Return the ceiling for total phosphorus or potassium.

    Parameters
    ----------
    key : ``P`` or ``K``.
    test : the bed's soil test.
    removal_kg_m2 : what this season's crops carry off the whole bed, kg per m2 of bed.

    Source
    ------
    Common practice, no source: replace removal on a very high soil, allow build-up on a low one (coefficients).
    """
    found = test.nutrient_class(key) or UNTESTED
    factor = coefficient(f"ceiling_factor_{key.lower()}_{found}")
    floor = coefficient(f"ceiling_floor_{key.lower()}")
    limit = factor.value * removal_kg_m2
    because: str = say(
        "soil {key} {found}: {factor:g} times what the crops remove",
        key=key,
        found=found.replace("_", " "),
        factor=factor.value,
    )
    sources: tuple[str, ...] = (factor.source,)
    if found not in ("high", "very_high") and limit < (least := to_si(floor.value, floor.unit)):
        limit, because, sources = (
            least,
            say("{because}, at least {least:g} {unit}", because=because, least=floor.value, unit=floor.unit),
            (*sources, floor.source),
        )
    return Ceiling(key, limit, because, tuple(dict.fromkeys(sources)))


def salt_ceiling(bed: Bed, test: SoilTest, plantings: tuple[Planting, ...]) -> Ceiling:
    """Return the soluble salts a bed may receive before its most sensitive crop loses yield.

    Source
    ------
    Maas & Hoffman thresholds (Maas 1990) of crop_values.csv; guide rise per application in coefficients.csv.
    """
    guide, floor = coefficient("ec_rise_per_application"), coefficient("ec_rise_floor")
    sensitive = most_sensitive(plantings)
    room, because, sources = (
        to_si(guide.value, "dS/m"),
        say("at most {guide:g} dS/m rise in a season", guide=guide.value),
        [guide.source],
    )
    if sensitive is not None:
        crop, least = sensitive
        now = test.saturated_ec() or 0.0
        room_to_crop = to_si(least.value, "dS/m") - now
        if room_to_crop < room:
            said = say(
                "{crop_name} suffers above {least:g} dS/m, the soil has {now:.2g}",
                crop_name=crop_name(crop),
                least=least.value,
                now=now / to_si(1, "dS/m"),
            )
            room, because, sources = room_to_crop, said, list(least.sources)
        if room < (least_room := to_si(floor.value, "dS/m")):
            room, because = (
                least_room,
                say("{because}; only {floor:g} dS/m that rain washes out", because=because, floor=floor.value),
            )
            sources.append(floor.source)
    return Ceiling("salt", _salts_for(room, bed), because, tuple(dict.fromkeys(sources)))


def most_sensitive(plantings: tuple[Planting, ...]) -> tuple[str, Figure] | None:
    """Return the crop that salt hurts first, with its published threshold, or None when none is known."""
    known = [(one.crop, figure("crop_values", one.crop, "ece_threshold")) for one in plantings]
    found = [(crop, least) for crop, least in known if least is not None]
    return min(found, key=lambda item: item[1].value, default=None)


def relative_yield(crop: str, ec_si: float) -> float | None:
    """Return the yield of a crop on a saline soil against that on a soil without salt.

    Parameters
    ----------
    crop : slug. ec_si : conductivity of the saturated paste, S/m.

    Returns
    -------
    Share from 0 to 1, or None when no threshold and slope are published.

    Source
    ------
    Maas & Hoffman, Yr = 100 - b (ECe - a), clipped (FAO Irrigation and Drainage Paper 61; values Maas 1990).
    """
    threshold, slope = (figure("crop_values", crop, name) for name in ("ece_threshold", "ece_slope"))
    if threshold is None or slope is None:
        return None
    loss_pct = slope.value * (ec_si / to_si(1.0, "dS/m") - threshold.value)
    return min(max(1.0 - loss_pct * to_si(1.0, "%"), 0.0), 1.0)


def _salts_for(ec_rise_si: float, bed: Bed) -> float:
    return ec_rise_si / float(salt_rise(1.0, bed.depth_m, bed.bulk_density_kg_m3))


def trace_ceilings(limit_key: str) -> Mapping[str, Ceiling]:
    """Return what a bed may receive of each trace element in one season.

    Parameters
    ----------
    limit_key : key of limits.csv whose rows are loads on soil: cumulative ones are spread over the years of
        coefficient ``metal_years``, yearly ones are taken as they are.

    Returns
    -------
    Ceilings by element; empty when the limit key has no loads.
    """
    rows = [row for row in table("limits") if row["key"] == limit_key]
    out = {}
    for row in rows:
        if row["applies_to"] == "soil_cumulative" and row["unit"] == "kg/ha":
            out[row["parameter"]] = _cumulative(row)
        elif row["applies_to"] == "soil_annual" and row["unit"] == "kg/ha/yr":
            because = say("{row} kg/ha in a year ({row2})", row=row["value"], row2=row["instrument"])
            out[row["parameter"]] = Ceiling(
                row["parameter"], to_si(float(row["value"]), "kg/ha"), because, (row["source"],)
            )
    return out


def _cumulative(row: Mapping[str, str]) -> Ceiling:
    years = coefficient("metal_years")
    because = say(
        "{row} kg/ha in all ({row2}), spread over {years:g} years",
        row=row["value"],
        row2=row["instrument"],
        years=years.value,
    )
    limit = to_si(float(row["value"]), "kg/ha") / years.value
    return Ceiling(row["parameter"], limit, because, (row["source"], years.source))
