"""What a gift does to a bed, in a few sentences and tables, in a person's units."""

from __future__ import annotations

from collections.abc import Sequence

from loamery.bed.answer import BedAnswer
from loamery.bed.demand import crop_name
from loamery.evidence.text import Units, short_day
from loamery.finding import Band
from loamery.names import quantity
from loamery.say import joined, say
from loamery.units import from_si, to_si
from loamery.words import number, range_text

SMALL_N = 0.05
"""Nitrogen below this, g per m2, is none worth a word."""
SHOWN_CEILINGS = 6
Rows = Sequence[Sequence[str]]


def in_short(answer: BedAnswer, units: Units) -> list[str]:
    """Return what it does, the most important first, one sentence or two for each."""
    return [_nitrogen(answer, units), _drawdown(answer, units), _reaction(answer), _salt(answer), _food(answer, units)]


def _nitrogen(answer: BedAnswer, units: Units) -> str:
    season, held = answer.season, answer.brought["N"].median
    weeks = len(answer.weeks) - answer.question.week
    shown = units.rate(season)
    amount, whole, band = _rate(abs(season.median), units), _rate(held, units), range_text(shown)
    if season.median >= 0:
        return say(
            "Nitrogen: in {weeks} weeks it gives the soil {amount} ({band}), of {whole} that it holds.",
            weeks=weeks, amount=amount, band=band, whole=whole,
        )  # fmt: skip
    return say(
        "Nitrogen: in {weeks} weeks it takes from the soil {amount} ({band}), of {whole} that it holds.",
        weeks=weeks, amount=amount, band=band, whole=whole,
    )  # fmt: skip


def _rate(g_m2: float, units: Units) -> str:
    return units.amount(to_si(g_m2, "g/m2"), "nutrient rate")


def _drawdown(answer: BedAnswer, units: Units) -> str:
    if answer.lowest.median > -SMALL_N:
        return say("Drawdown: it takes no nitrogen out of the soil on the way.")
    back = (
        say("and that is not paid back in this time")
        if answer.back_week is None
        else say("paid back by week {week}", week=answer.back_week + 1)
    )
    return say(
        "Drawdown: first it takes {amount} out, most of it {weeks} weeks after it is given; {back}.",
        amount=_rate(-answer.lowest.median, units), weeks=answer.lowest_week + 1, back=back,
    )  # fmt: skip


def _reaction(answer: BedAnswer) -> str:
    one = answer.ph_change
    return say(
        "pH: {before} before; {median} at the end ({low} to {high}).",
        before=number(answer.ph_before, 2), median=_signed(one.median), low=_signed(one.low), high=_signed(one.high),
    )  # fmt: skip


def _signed(value: float) -> str:
    return f"{value:+.2f}".replace("-", "−")


def _salt(answer: BedAnswer) -> str:
    text = say(
        "Salt: {before} dS/m before, {median} right after ({band}); rain and watering carry it down.",
        before=number(answer.ec_before, 2), median=number(answer.ec_peak.median, 2), band=range_text(answer.ec_peak),
    )  # fmt: skip
    lost = [
        say("{crop} {share} %", crop=crop_name(slug).lower(), share=number(100 * (1 - one.median), 2))
        for slug, one in answer.yields.items()
        if one.median < 1
    ]
    return text + say(" Yield that salt costs: {lost}.", lost=joined(", ", lost)) if lost else text


def _food(answer: BedAnswer, units: Units) -> str:
    parts = [
        joined(" ", (quantity(key).label.lower(), _rate(answer.years[key][0].median, units)))
        for key in ("P", "K") if key in answer.years
    ]  # fmt: skip
    full = answer.reaches[0] if answer.reaches else None
    said = (
        say(
            " Nearest ceiling: {ceiling}, {share} % of what this bed may take in a season.",
            ceiling=ceiling_word(full.ceiling.key),
            share=number(100 * full.share, 2),
        )
        if full
        else ""
    )
    shown = joined(", ", parts) if parts else say("none known")
    return say("Other plant food in the first year: {shown}.{ceiling}", shown=shown, ceiling=said)


def ceiling_word(key: str) -> str:
    """Return what a ceiling is about, in words."""
    return say("salt") if key == "salt" else quantity(key).label.lower()


def answer_tables(answer: BedAnswer, units: Units) -> list[tuple[str, tuple[str, ...], Rows]]:
    """Return tables as (title, head, rows): nitrogen by week, plant food by year, ceilings."""
    unit = units.name("nutrient rate")
    first = answer.question.week
    weekly = [
        (short_day(day), _band(net, units, LEAST_N), _band(total, units, LEAST_N), number(units.g_m2(asked), 2))
        for day, net, total, asked in list(zip(answer.weeks, answer.net, answer.total, answer.asked, strict=True))[first:]
        if (day - answer.weeks[first]).days // 7 in WEEKS_SHOWN
    ]  # fmt: skip
    years = [
        (quantity(key).label, number(units.g_m2(answer.brought[key].median), 2), *(_band(one, units, LEAST_SHOWN * answer.brought[key].median) for one in course))
        for key, course in answer.years.items()
    ]  # fmt: skip
    ceilings = [
        (ceiling_word(one.ceiling.key), _kg(one.load, units), number(units.g_m2(from_si(one.ceiling.limit_kg_m2, "g/m2")), 2), f"{number(100 * one.share, 2)} %")
        for one in answer.reaches[:SHOWN_CEILINGS]
    ]  # fmt: skip
    return [
        (
            say("Nitrogen by week, {unit}", unit=unit),
            (say("week to"), say("given or taken"), say("added up"), say("crops ask")),
            weekly,
        ),
        (
            say("Plant food, {unit}", unit=unit),
            (say("element"), say("held"), say("first year"), say("second"), say("third")),
            years,
        ),
        (
            say("Ceilings of one season, {unit}", unit=unit),
            (say("ceiling"), say("brought"), say("at most"), say("used")),
            ceilings,
        ),
    ]


LEAST_SHOWN, LEAST_N = 0.001, 0.002
"""Of an element, share of what the gift holds; of nitrogen in a week, g per m2: less is shown as nothing."""
WEEKS_SHOWN = (0, 1, 2, 3, 5, 7, 9, 12, 15, 18, 21, 25, 38, 51)


def _band(one: Band, units: Units, least: float = 0.0) -> str:
    """Return a band in words; ends nearer to nothing than `least`, g per m2, are shown as nothing."""
    median, low, high = (0.0 if abs(end) < least else end for end in (one.median, one.low, one.high))
    shown = units.rate(Band(median, low, high, one.unit))
    return say("{middle} ({range})", middle=number(shown.median, 2), range=range_text(shown))


def _kg(one: Band, units: Units) -> str:
    return _band(one.scaled(1000.0, "g/m2"), units)
