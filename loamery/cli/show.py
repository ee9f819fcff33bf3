"""What the commands share: tables, progress, JSON on a standard output kept clean, amounts with units."""

from __future__ import annotations

import json
import math
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from loamery.errors import InputError, Where

if TYPE_CHECKING:
    from rich.console import Console

    from loamery.finding import Finding

SEVERITY_MARKS = {"stop": "STOP", "warning": "warning", "note": "note"}
SEVERITY_STYLES = {"stop": "bold red", "warning": "yellow", "note": "dim"}


def console(stderr: bool = False) -> Console:
    """Return a console on standard output, or on standard error for what is not the answer."""
    from rich.console import Console

    return Console(stderr=stderr, highlight=False)


def print_json(document: object) -> None:
    """Print one JSON document and nothing else; numbers that are not finite become null."""
    sys.stdout.write(json.dumps(_plain(document), indent=2, ensure_ascii=False, allow_nan=False) + "\n")


def _plain(value: Any) -> Any:
    """Return a value as JSON knows it: numpy scalars as numbers, tuples as lists, no NaN."""
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [_plain(one) for one in value]
    if hasattr(value, "tolist"):
        return _plain(value.tolist())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


@contextmanager
def working(quiet: bool = False) -> Iterator[Callable[[str], None]]:
    """Show on standard error what is being done; yields the function to tell it."""
    if quiet:
        yield lambda _: None
        return
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=console(stderr=True), transient=True) as progress:
        task = progress.add_task("starting", total=None)
        yield lambda text: progress.update(task, description=text)


def print_table(title: str, head: Sequence[str], rows: Iterable[Sequence[object]], right: Sequence[str] = ()) -> None:
    """Print a table; columns named in `right` are numbers."""
    from rich.table import Table

    table = Table(title=title, title_justify="left", header_style="bold", box=None, pad_edge=False)
    for name in head:
        table.add_column(name, justify="right" if name in right else "left", overflow="fold")
    for row in rows:
        table.add_row(*("" if cell is None else literal(cell) for cell in row))
    console().print(table)
    console().print()


def print_findings(findings: Sequence[Finding], most: int | None = None) -> None:
    """Print findings, the most serious first."""
    out = console()
    for one in findings[:most]:
        named = ":" in one.text[:40]  # the text says itself what it is about
        about = f"[bold]{literal(one.about)}:[/] " if one.about and not named else ""
        out.print(f"[{SEVERITY_STYLES[one.severity]}]{SEVERITY_MARKS[one.severity]:>7}[/]  {about}{literal(one.text)}")
        out.print(f"         [dim]because {literal(one.because)}[/]")
        for extra in filter(None, (one.proposal, one.caution)):
            out.print(f"         [dim]→ {literal(extra)}[/]")
    if most is not None and len(findings) > most:
        out.print(f"         [dim]and {len(findings) - most} more; the report and --json hold them all[/]")
    out.print()


def literal(text: object) -> str:
    """Return a text in which square brackets are letters, not markup of the library that draws it."""
    from rich.markup import escape

    return escape(str(text))


def number(value: float | None, digits: int = 3) -> str:
    """Return a number with a few significant digits, a dash for what is not known."""
    if value is None or not math.isfinite(value):
        return "–"
    if value == 0:
        return "0"
    places = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    return f"{value:.{min(places, 6)}f}"


_AMOUNT = re.compile(r"^\s*([0-9]+(?:[.,][0-9]+)?)\s*([A-Za-z0-9]+)\s*$")


def amount(text: str, option: str, *dimensions: str) -> tuple[float, str]:
    """Return an amount such as ``200 lb`` in SI, with its dimension.

    Parameters
    ----------
    option : the option it was given to, for the message.
    dimensions : allowed, e.g. ``mass`` and ``volume``.

    Raises
    ------
    InputError : it is not an amount of such a dimension.
    """
    from loamery.units import to_si, units

    known = {name: one for name, one in units().items() if one.dimension in dimensions}
    match = _AMOUNT.match(text)
    if match is None or match[2] not in known or float(match[1].replace(",", ".")) <= 0:
        raise InputError(
            f"“{text}”",
            where=Where(column=option),
            expected="a number above zero and a unit: " + ", ".join(known),
            remedy=f'for example {option} "200 {next(iter(known))}"',
        )
    return to_si(float(match[1].replace(",", ".")), match[2]), known[match[2]].dimension


def pairs(given: Sequence[str], option: str) -> dict[str, str]:
    """Return ``name=value`` options as a dictionary.

    Raises
    ------
    InputError : one has no equals sign.
    """
    out = {}
    for one in given:
        name, equals, value = one.partition("=")
        if not equals or not name.strip():
            raise InputError(
                f"“{one}”",
                where=Where(column=option),
                expected="NAME=VALUE",
                remedy=f'for example {option} "basis=dry"',
            )
        out[name.strip()] = value.strip()
    return out
