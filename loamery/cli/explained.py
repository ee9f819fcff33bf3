"""``loamery replay``, ``loamery compare``, ``loamery worth``: does the plan hold, what if, and what would help most."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loamery.cli.garden import open_garden
from loamery.cli.show import amount, console, literal, number, print_json, print_table, working
from loamery.errors import InputError, Where

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.evidence.chart import Chart
    from loamery.finding import Band
    from loamery.garden.model import Garden
    from loamery.season.agree import Agreement
    from loamery.season.compare import Comparison
    from loamery.season.sensitivity import Mover
    from loamery.season.what_if import Change

LEAST_DRAWS, MOST_DRAWS, MOST_ROUNDS, LEAST_TEST_DRAWS, MOST_TEST_DRAWS = 3, 400, 8, 100, 5000
MOST_MOVERS, MOST_TESTS = 8, 10
NOTHING = 1e-6
"""A figure below this is rounding of the solver."""


@dataclass(frozen=True)
class WhatIf:
    """The changes a person asked for, as typed."""

    without: tuple[str, ...]
    bed: tuple[str, ...]
    rain: float | None
    price: tuple[str, ...]


def run_replay(
    garden: Path, rounds: int, draws: int, into: Path | None, language: str, units: UnitSystem | None, json: bool
) -> None:
    """Play the plan of a garden in fresh seasons, solving again where the models disagree, and print how it holds."""
    from loamery.season.agree import agree
    from loamery.season.prepare import prepare
    from loamery.season.sensitivity import movers

    _free(into)
    _within("--rounds", rounds, 1, MOST_ROUNDS)
    _within("--draws", draws, LEAST_DRAWS, MOST_DRAWS)
    opened = open_garden(garden, units)
    with working(json) as tell:
        agreed = agree(prepare(opened, tell), tell, most_rounds=rounds, draws=draws)
    moving = movers(agreed.played)
    files = _charts(into, language, lambda: _replay_charts(agreed, moving))
    if json:
        document = {**agreed.as_dict(), "moves_the_shortfall": [one.as_dict() for one in moving], "files": files}
        print_json(document)
        return
    _print_agreement(agreed)
    _print_movers(moving)
    _say_files(files)


def _replay_charts(agreed: Agreement, moving: Sequence[Mover]) -> list[Chart]:
    from loamery.evidence.charts_explained import limits_chart, movers_chart, short_chart

    return [limits_chart(agreed), short_chart(agreed), movers_chart(moving, "nitrogen short")]


def _print_agreement(agreed: Agreement) -> None:
    out = console()
    played = agreed.played
    out.print(
        f"[bold]No limit is broken in {played.holds_share:.0%} of {played.years.n} freshly drawn seasons.[/] {literal(agreed.text)}"
    )
    out.print()
    rows = [(one.label, f"{one.kept_share:.0%}") for one in played.limits]
    print_table("In how many seasons each limit is kept", ("limit", "kept"), rows, ("kept",))
    names = list(dict.fromkeys(name for one in agreed.rounds for name in one.apart))
    rounds = [
        (one.number, *(f"{one.apart[name]:.0%}" if name in one.apart else "" for name in names), f"{one.holds:.0%}")
        for one in agreed.rounds
    ]
    head = ("round", *(f"{name}, apart" for name in names), "limits kept")
    print_table("Solve, play, solve again", head, rounds, head)
    out.print(f"Dry matter, nitrogen and phosphorus add up to within {played.balance_error():.0e} in every season.")
    out.print()


def _print_movers(moving: Sequence[Mover]) -> None:
    rows = [
        (one.name, f"{one.rank:+.2f}", f"{one.low:+.2f} to {one.high:+.2f}", "" if one.told else "may be chance")
        for one in moving[:MOST_MOVERS]
    ]
    head = ("what is not known", "rank correlation", "90 % interval", "")
    print_table("What moves the nitrogen that is short (+: more of it, more short)", head, rows, head[1:3])


def run_compare(
    garden: Path, what: WhatIf, draws: int, into: Path | None, language: str, units: UnitSystem | None, json: bool
) -> None:
    """Compare the plan with that of a changed garden, or with the rules a careful grower goes by, and print it."""
    from loamery.season.agree import agree
    from loamery.season.compare import compare_by_hand, compare_change
    from loamery.season.explained import QUICK_ROUNDS
    from loamery.season.prepare import prepare

    _free(into)
    _within("--draws", draws, LEAST_DRAWS, MOST_DRAWS)
    opened = open_garden(garden, units)
    changes = changes_of(opened, what)
    with working(json) as tell:
        prepared = prepare(opened, tell)
        if changes:
            found = compare_change(prepared, changes, draws=draws, progress=tell)
        else:
            agreed = agree(prepared, tell, most_rounds=QUICK_ROUNDS, draws=draws)
            found = compare_by_hand(agreed.solved, played=agreed.played, progress=tell)
    files = _charts(into, language, lambda: [_side_chart(found, opened.info.currency)])
    if json:
        print_json({**found.as_dict(), "files": files})
        return
    _print_comparison(found, opened.info.currency)
    _say_files(files)


def _side_chart(found: Comparison, currency: str) -> Chart:
    from loamery.evidence.charts_explained import sides_chart

    return sides_chart(found, "comparison", currency)


def changes_of(garden: Garden, what: WhatIf) -> list[Change]:
    """Return the changes a person asked for.

    Raises
    ------
    InputError : one that makes no sense, or names nobody knows.
    """
    from loamery.season.what_if import bed_added, donor_stops, price_changes, rain_changes

    changes = [donor_stops(garden, one) for one in what.without]
    for one in what.bed:
        crop, size = _pair(one, "--bed", "tomato=6 m2")
        changes.append(bed_added(garden, crop, amount(size, "--bed", "area")[0]))
    if what.rain is not None:
        changes.append(rain_changes(garden, what.rain))
    for one in what.price:
        material, price = _pair(one, "--price", "town-compost=0.12")
        changes.append(price_changes(garden, material, _money(price)))
    return changes


def _pair(text: str, option: str, example: str) -> tuple[str, str]:
    name, equals, value = (part.strip() for part in text.partition("="))
    if not equals or not name or not value:
        raise InputError(
            f"“{text}”", where=Where(column=option), expected="NAME=VALUE", remedy=f'for example {option} "{example}"'
        )
    return name, value


def _money(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = float("nan")
    if not 0.0 <= value < 1e6:
        raise InputError(
            f"“{text}”", where=Where(column="--price"), expected="a price per kilogram, 0 or more", remedy="write a number such as 0.12",
        )  # fmt: skip
    return value


def _print_comparison(found: Comparison, currency: str) -> None:
    out = console()
    out.print(f"[bold]{literal(found.question)}[/]")
    out.print(f"Median and 90 % band over {found.sides[0].played.years.n} seasons, the same for all.")
    out.print()
    head = ("", *(side.label for side in found.sides), "clear")
    rows: list[tuple[str, ...]] = []
    for row in found.rows:
        cells = [_band(one) for one in row.bands]
        clear = ", ".join(row.verdict(side) for side in range(1, len(found.sides)))
        rows.append((f"{row.measure.label}, {row.measure.unit or currency}", *cells, clear))
    rows.append(
        ("seasons in which all limits are kept", *(f"{side.played.holds_share:.0%}" for side in found.sides), "")
    )
    print_table("Side by side", head, rows, head[1:-1])
    kg = [side.collected_kg() for side in found.sides]
    names = {one.id: one.name for one in found.sides[0].played.problem.raw}
    moved = [
        (names[key], *(f"{one.get(key, 0.0):.0f}" for one in kg))
        for key in kg[0]
        if max(abs(one.get(key, 0.0) - kg[0][key]) for one in kg) >= 1.0
    ]
    if moved:
        print_table("Material used, kg, where it differs", ("material", *head[1:-1]), moved, head[1:-1])


def _band(one: Band) -> str:
    # what the solver leaves of nothing is nothing
    low, median, high = (0.0 if abs(each) < NOTHING else each for each in (one.low, one.median, one.high))
    same = abs(high - low) <= 1e-9 * max(abs(median), 1.0)
    return number(median) if same else f"{number(median, 2)} ({number(low, 2)} to {number(high, 2)})"


def run_worth(
    garden: Path,
    draws: int,
    harvest_price: float | None,
    into: Path | None,
    language: str,
    units: UnitSystem | None,
    json: bool,
) -> None:
    """Print what one more of anything would spare, and which laboratory test is worth its price."""
    from loamery.season.make import solve_prepared
    from loamery.season.prepare import prepare
    from loamery.season.shadow import spares
    from loamery.season.which_test import which_test

    _free(into)
    _within("--draws", draws, LEAST_TEST_DRAWS, MOST_TEST_DRAWS)
    if harvest_price is not None and not 0.0 <= harvest_price < 1e6:
        raise InputError(
            f"a harvest price of {harvest_price:g}", where=Where(column="--harvest-price"), expected="0 or more per kilogram",
            remedy="leave it out to use the judged figure",
        )  # fmt: skip
    opened = open_garden(garden, units)
    with working(json) as tell:
        solved = solve_prepared(prepare(opened, tell), tell)
        tell("trying what more would spare")
        found = spares(solved.problem, solved.solution)
        tests = which_test(solved, draws=draws, harvest_price=harvest_price, progress=tell)
    files = _worth_files(into, language, opened, found, tests)
    if json:
        print_json({"format": "loamery worth 1", "spares": [one.as_dict() for one in found], "tests": tests.as_dict(), "files": files})  # fmt: skip
        return
    out = console()
    out.print("[bold]What one more of it would spare[/]")
    for one in found:
        out.print(f"  {literal(one.text)}")
    out.print()
    _print_tests(tests, opened.info.currency)
    _say_files(files)


def _worth_files(into: Path | None, language: str, garden: Garden, found: Any, tests: Any) -> list[str]:
    """Write the sheet of laboratory tests where a folder was asked for, and return the paths."""
    if into is None:
        return []
    from loamery.evidence.tests_sheet import write_tests

    return [str(path) for path in write_tests(garden, tests, found, into, language=language)]


def _print_tests(tests: Any, currency: str) -> None:
    head = (
        "test",
        "of",
        f"price, {currency}",
        f"worth, {currency}",
        "worth over price",
        "narrows by",
        "changes the plan in",
    )
    rows = [
        (one.test.name, one.test.about_name, number(one.test.price), number(one.worth.value, 2), number(one.per_price, 2),
         f"{one.worth.narrows:.0%}", f"{one.worth.changes:.0%}")
        for one in tests.tests[:MOST_TESTS]
    ]  # fmt: skip
    print_table("Which test next: the best for their price", head, rows, head[2:])
    console().print(
        f"Knowing everything would be worth {number(tests.certainty, 2)} {literal(currency)}. Worth is what choosing among "
        f"{len(tests.plans)} plans gains: a floor. Tests of safety are worth their price whatever this says."
    )


def _within(option: str, value: int, low: int, high: int) -> None:
    if not low <= value <= high:
        raise InputError(
            str(value), where=Where(column=option), expected=f"{low} to {high}", remedy="choose a number between these"
        )


def _free(into: Path | None) -> None:
    """Refuse a place that is a file before any work is done."""
    if into is not None:
        from loamery.evidence.report import check_folder

        check_folder(into)


def _charts(into: Path | None, language: str, make: Callable[[], list[Chart]]) -> list[str]:
    """Write charts as SVG with their data as CSV where a folder was asked for, and return the paths."""
    if into is None:
        return []
    from loamery.saving import save_text

    out = []
    for one in make():
        chart = one.in_language(language)
        out += [save_text(into / f"{chart.key}.svg", chart.svg()), save_text(into / f"{chart.key}.csv", chart.csv())]
    return [str(path) for path in out]


def _say_files(files: Sequence[str]) -> None:
    for path in files:
        console().print(literal(path))
