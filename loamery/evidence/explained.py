"""Sections of the season report that explain the plan: does it hold, is it better than by hand, what would help most."""

from __future__ import annotations

from collections.abc import Sequence

from loamery.evidence.block import Block, Column, Figure, Fold, Items, Line, Para, Say, Section, Table
from loamery.evidence.charts_explained import (
    limits_chart,
    movers_chart,
    short_chart,
    sides_chart,
    spares_chart,
    tests_chart,
)
from loamery.evidence.text import listing, plural, share_text
from loamery.finding import Band
from loamery.reference import coefficient
from loamery.say import joined, say, uncapital
from loamery.season.agree import WITHIN, Agreement
from loamery.season.compare import Comparison, Row
from loamery.season.explained import Explained
from loamery.season.lab_tests import WorthOfTest
from loamery.season.which_test import NextTests
from loamery.words import number, range_text

MOST_TESTS = 6
ROUNDING = 1e-6
"""A figure smaller than this is what sums of rounded numbers leave."""
RULES = (
    say(
        "All grounds, grain, clippings and manure to compost with the same weight of leaves, then cardboard, then chips."
    ),
    say("A thin layer of clippings under chips once a crop has stood two weeks, topped up every month."),
    say(
        "Before planting, compost at the nitrogen rate of the soil test by the label, counting 15 % of it for the first season."
    ),
    say("Vegetable trimmings to the worms; no raw manure on beds; no ash without a reason to lime."),
)


def explained_sections(explained: Explained, currency: str) -> list[Section]:
    """Return the sections that explain a plan."""
    return [
        holds_section(explained.agreement),
        hand_section(explained.by_hand, currency),
        more_section(explained, currency),
    ]


def holds_section(agreed: Agreement) -> Section:
    """Return whether the plan holds when heaps and beds are simulated in seasons it was not made for."""
    played = agreed.played
    figures = played.outcome.figures
    left = float(figures["left_over"].mean())
    asked = coefficient("limits_kept_share").value
    told = {
        "kept": share_text(played.holds_share),
        "seasons": played.years.n,
        "asked": share_text(asked),
        "agreed": agreed.text,
    }
    lead = (
        say("The plan holds: in {kept} of {seasons} freshly drawn seasons no limit is broken on any bed, in any heap or week ({asked} is asked for). {agreed}", **told)
        if played.holds_share >= asked
        else say("The plan does not hold as often as asked: in {kept} of {seasons} freshly drawn seasons no limit is broken on any bed, in any heap or week ({asked} is asked for). {agreed}", **told)
    )  # fmt: skip
    parts: list[Block] = [
        Para(lead, "lead"),
        Para(
            say(
                "Each season draws anew what the materials hold, how fast they decay, how the heaps work and what the weather does; heaps and "
                "beds then run through the models, day by day. Who lays a mulch stops when it is as deep as it may be, who builds a heap stops "
                "when it is full: {left} of what is planned is left over so, on average.",
                left=share_text(left),
            ),
            "soft",
        ),
        Figure(limits_chart(agreed)),
        Figure(short_chart(agreed)),
        _rounds(agreed),
    ]
    return Section(say("Does the plan hold?"), "holds", parts, fresh=True, fit=True)


def _rounds(agreed: Agreement) -> Table:
    names = list(dict.fromkeys(name for one in agreed.rounds for name in one.apart))
    columns = [
        Column(say("Round"), wide=0.6),
        *(Column(say("{name}, apart", name=name), "right") for name in names),
        Column(say("Limits kept"), "right"),
    ]
    rows: list[Sequence[Line]] = [
        (
            str(one.number),
            *(share_text(one.apart[name]) if name in one.apart else say("no heap") for name in names),
            share_text(one.holds),
        )
        for one in agreed.rounds
    ]
    error = played_error(agreed)
    note = say(
        "Plan and models count as agreed within {share}. What is collected, applied, composted, lost and left over adds up to within {error} "
        "in every season, for dry matter, nitrogen and phosphorus, through heaps and beds.",
        share=share_text(WITHIN),
        error=error,
    )
    return Table(say("Solve, play, solve again"), columns, rows, note)


def played_error(agreed: Agreement) -> str:
    """Return how far the accounts are from closing, in words."""
    return say("{share:.0e} of it", share=agreed.played.balance_error())


def hand_section(found: Comparison, currency: str) -> Section:
    """Return the plan beside the rules a careful grower goes by, and where it does not win."""
    parts: list[Block] = [
        Para(_hand_lead(found), "lead"),
        Items(RULES),
        Para(
            say(
                "These rules are common practice, no source. They are played at their best: nothing is fetched that is not used, and what must "
                "not go on a bed does not. Held to the same limits, they stop on each bed where the plan has to stop."
            ),
            "soft",
        ),
        Figure(sides_chart(found, "by-hand", currency)),
        _side_table(found, currency),
    ]
    return Section(say("The plan and the rules of the hand"), "by-hand", parts, fresh=True, fit=True)


def _hand_lead(found: Comparison) -> str:
    usual = len(found.sides) - 1
    loses = [row.measure.label for row in found.rows if row.verdict(usual) == "better"]
    wins = [row.measure.label for row in found.rows if row.verdict(usual) == "worse"]
    broken = 1.0 - found.sides[usual].played.holds_share
    return say(
        "Done by hand as usual, a limit is broken in {broken} of the seasons. The plan is better in {wins}; "
        "the rules of the hand are better in {loses}.",
        broken=share_text(broken),
        wins=listing(wins),
        loses=listing(loses),
    )


def _side_table(found: Comparison, currency: str) -> Table:
    columns = [Column("", wide=1.6), *(Column(side.label, "right") for side in found.sides)]
    rows: list[Sequence[Line]] = [
        (
            joined(", ", (row.measure.label, row.measure.unit or currency)),
            *(_cell(row, side) for side in range(len(found.sides))),
        )
        for row in found.rows
    ]
    kept = [share_text(side.played.holds_share) for side in found.sides]
    rows.append((say("seasons in which all limits are kept"), *kept))
    note = say(
        "Median and 90 % band over the same seasons and models. Bold: clearly better than the plan, in nine of ten seasons or more; pale: "
        "clearly worse."
    )
    return Table(say("Side by side"), columns, rows, note)


def _cell(row: Row, side: int) -> Line:
    band = row.bands[side]
    text = _band_text(band)
    verdict = row.verdict(side) if side else ""
    return Say(text, strong=verdict == "better", soft=verdict == "worse")


def _band_text(band: Band) -> str:
    low, middle, high = (0.0 if abs(one) < ROUNDING else one for one in (band.low, band.median, band.high))
    band = Band(middle, low, high, band.unit)
    same = abs(band.high - band.low) <= 1e-9 * max(abs(band.median), 1.0)
    return (
        number(band.median, 3)
        if same
        else say("{middle} ({span})", middle=number(band.median, 2), span=range_text(band))
    )


def more_section(explained: Explained, currency: str) -> Section:
    """Return what more of something would spare, what moves the outcome, and which test is worth its price."""
    told = [one for one in explained.movers if one.told]
    parts: list[Block] = [Para(_more_lead(explained), "lead")]
    if explained.spares:
        parts.append(Figure(spares_chart(explained.spares)))
        parts.append(Fold(say("In words"), (Items([one.text for one in explained.spares]),)))
    if told:
        parts.append(Figure(movers_chart(explained.movers, say("nitrogen short"))))
    parts += [*_tests(explained.tests, currency)]
    return Section(say("What would help most"), "more", parts, fresh=True, fit=True)


def _more_lead(explained: Explained) -> str:
    first = (
        explained.spares[0].text
        if explained.spares
        else say("Nothing this garden could get more of would spare anything.")
    )
    mover = next((one for one in explained.movers if one.told), None)
    if mover is None:
        return first
    return joined(" ", (first, say("What is not known and matters most: {mover}.", mover=uncapital(mover.name))))


def _tests(found: NextTests, currency: str) -> list[Block]:
    if not found.tests:
        return []
    parts: list[Block] = [Para((Say(say("Which test next? "), strong=True), next_test_words(found)))]
    if any(one.worth.value > 0.0 for one in found.tests):
        parts += [Figure(tests_chart(found.tests, currency)), _test_table(found, currency)]
    parts.append(Para(test_note(found, currency), "soft"))
    return parts


def next_test_words(found: NextTests) -> str:
    """Return in a sentence which test is worth its price, or which comes nearest."""
    if not found.tests:
        return say("Every material and bed has the tests that could be ordered.")
    pays, best = [one for one in found.tests if one.per_price >= 1.0], found.tests[0]
    if pays:
        return say("Worth its price: {tests}.", tests=listing([_test_words(one) for one in pays[:3]]))
    return say(
        "No laboratory test pays for itself in this plan; the nearest is the {test}, worth {share} of its price.",
        test=_test_words(best),
        share=share_text(best.per_price),
    )


def _test_words(one: WorthOfTest) -> str:
    return say("{test} of {about}", test=one.test.name.lower(), about=one.test.about_name.lower())


def test_columns(currency: str) -> tuple[Column, ...]:
    """Return the first columns of a table of tests."""
    return (
        Column(say("Test"), wide=2),
        Column(say("Of"), wide=1.6),
        Column(say("Price, {currency}", currency=currency), "right"),
        Column(say("Worth, {currency}", currency=currency), "right"),
    )


def _test_table(found: NextTests, currency: str) -> Table:
    columns = (*test_columns(currency), Column(say("Changes the plan in"), "right"))
    rows: list[Sequence[Line]] = [
        (
            one.test.name,
            one.test.about_name,
            number(one.test.price, 3),
            number(one.worth.value, 2),
            share_text(one.worth.changes),
        )
        for one in found.tests[:MOST_TESTS]
    ]
    return Table(say("The best tests for their price"), columns, rows)


def test_note(found: NextTests, currency: str) -> str:
    """Return what the worth of a test rests on."""
    price = coefficient("harvest_price").value if found.harvest_price is None else found.harvest_price
    return say(
        "Worth: how much better one of {plans} would do if it could be chosen after the answer, in {draws} seasons with "
        "heaps by published factors, a kilogram of harvest at {price} {currency} (judged); a floor, for there are more plans to choose from. Knowing "
        "everything would be worth {certainty} {currency}. Prices are those of one laboratory's list, one for one in {currency}, unless the garden "
        "names its own. A test of safety (lead, weed killers, pathogens) is not weighed here: it is worth its price whatever the plan says.",
        plans=plural(len(found.plans), say("plan"), say("plans")),
        draws=found.draws,
        price=number(price, 2),
        currency=currency,
        certainty=number(found.certainty, 2),
    )
