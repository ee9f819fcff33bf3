"""What if: a garden changed in one respect, so that two plans can be compared."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from loamery.bed.demand import crop_name
from loamery.bed.soil import SoilTest, soil_test
from loamery.errors import InputError, UnknownName, Where
from loamery.garden.model import Bed, Garden, Planting
from loamery.garden.rows import nearest
from loamery.reference import table
from loamery.say import say
from loamery.season.prepare import Prepared


@dataclass(frozen=True)
class Change:
    """One change of a garden.

    Parameters
    ----------
    label : what is different, in a few words.
    apply : returns the changed garden, its soils and reports still those of the first.
    """

    label: str
    apply: Callable[[Garden], Garden]


def changed(prepared: Prepared, changes: Sequence[Change]) -> Prepared:
    """Return a garden with every change applied; reports that were read stay read.

    Parameters
    ----------
    prepared : as it is. changes : in order.
    """
    garden = prepared.garden
    for one in changes:
        garden = one.apply(garden)
    new = [bed.id for bed in garden.beds if bed.id not in prepared.soils]
    soils: dict[str, SoilTest] = {**prepared.soils, **{key: soil_test(key, [], []) for key in new}}
    soil_reports = {**prepared.soil_reports, **dict.fromkeys(new, ())}
    return replace(prepared, garden=garden, soils=soils, soil_reports=soil_reports)


def donor_stops(garden: Garden, donor: str) -> Change:
    """Return the change that a donor gives nothing any more.

    Raises
    ------
    UnknownName : the garden has no such donor.
    """
    _known(donor, [one.id for one in garden.donors], "--without", "donor")

    def apply(one: Garden) -> Garden:
        kept = tuple(supply for supply in one.supplies if supply.donor != donor)
        return one.model_copy(update={"supplies": kept})

    return Change(say("{donor} gives nothing", donor=garden.donor(donor).name), apply)


def bed_added(garden: Garden, crop: str, area_m2: float) -> Change:
    """Return the change that a bed with one crop is added, its soil untested.

    Parameters
    ----------
    crop : slug, planted where the garden plants it, or from the second month on for three months. area_m2 : of the bed.

    Raises
    ------
    UnknownName : no such crop. InputError : an area of nothing.
    """
    _known(crop, [row["slug"] for row in table("crops")], "--bed", "crop")
    if not 0.0 < area_m2 < 1e5:
        raise InputError(
            say("a bed of {area_m2:g} m2", area_m2=area_m2), where=Where(column="--bed"), expected=say("an area above zero"),
            remedy=say("for example --bed \"tomato=6 m2\""),
        )  # fmt: skip

    def apply(one: Garden) -> Garden:
        taken = {bed.id for bed in one.beds}
        key = next(name for name in (f"added-{number}" for number in range(1, 1000)) if name not in taken)
        bed = Bed(id=key, name=say("Added bed of {crop}", crop=crop_name(crop).lower())[:], area_m2=area_m2)
        planting = _usual_planting(one, key, crop)
        return one.model_copy(update={"beds": (*one.beds, bed), "plantings": (*one.plantings, planting)})

    return Change(
        say("a bed of {area_m2:g} m² with {crop} is added", area_m2=area_m2, crop=crop_name(crop).lower()), apply
    )


PLANTED_AFTER_WEEKS, STANDS_WEEKS = 6, 13
"""When the garden grows the crop nowhere yet."""


def _usual_planting(garden: Garden, bed: str, crop: str) -> Planting:
    same = next((one for one in garden.plantings if one.crop == crop), None)
    if same is not None:
        return same.model_copy(update={"bed": bed, "share": 1.0})
    planted = garden.info.season_start + timedelta(weeks=min(PLANTED_AFTER_WEEKS, garden.info.season_weeks - 1))
    return Planting(bed=bed, crop=crop, planted=planted, harvested=planted + timedelta(weeks=STANDS_WEEKS))


def rain_changes(garden: Garden, share: float) -> Change:
    """Return the change that a share of the usual rain falls.

    Raises
    ------
    InputError : a share below 0 or above 5.
    """
    if not 0.0 <= share <= 5.0:
        raise InputError(
            say("{share:g} of the usual rain", share=share), where=Where(column="--rain"), expected=say("0 to 5"),
            remedy=say("0.4 means four tenths of the usual rain, 1.5 half as much again"),
        )  # fmt: skip

    def apply(one: Garden) -> Garden:
        rain = tuple(share * mm for mm in one.climate.rain_mm)
        climate = one.climate.model_copy(
            update={"rain_mm": rain, "source": f"{one.climate.source}; rain times {share:g}"}
        )
        return one.model_copy(update={"climate": climate})

    return Change(say("{share:.0%} of the usual rain falls", share=share), apply)


def price_changes(garden: Garden, material: str, price_per_kg: float) -> Change:
    """Return the change that a bought material costs more or less.

    Raises
    ------
    UnknownName : the garden has no such material. InputError : a price below zero, or nobody sells it.
    """
    _known(material, [one.id for one in garden.materials], "--price", "material")
    if price_per_kg < 0.0:
        raise InputError(
            say("a price of {price_per_kg:g}", price_per_kg=price_per_kg), where=Where(column="--price"), expected=say("0 or more per kilogram"),
            remedy=say("for example --price \"{material}=0.12\"", material=material),
        )  # fmt: skip
    if not any(one.material == material for one in garden.supplies):
        raise InputError(
            say("“{word}”", word=material), where=Where(column="--price"), expected=say("a material somebody supplies"),
            remedy=say("add a row to supplies.csv first"),
        )  # fmt: skip

    def apply(one: Garden) -> Garden:
        supplies = tuple(
            each.model_copy(update={"price_per_kg": price_per_kg}) if each.material == material else each
            for each in one.supplies
        )
        return one.model_copy(update={"supplies": supplies})

    return Change(
        say(
            "{material} costs {price_per_kg:g} {currency} a kilogram",
            material=garden.material(material).name.lower(),
            price_per_kg=price_per_kg,
            currency=garden.info.currency,
        ),
        apply,
    )


def _known(name: str, known: Sequence[str], option: str, what: str) -> None:
    if name not in known:
        close = nearest(name, known)
        raise UnknownName(
            say("{what} “{name}”", what=what, name=name), where=Where(column=option), expected=say("one of ") + ", ".join(known[:30]),
            remedy=say("did you mean “{close}”?", close=close) if close else say("name a {what} of the garden", what=what),
        )  # fmt: skip
