"""``loamery report``: the season report and fact sheets as files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from loamery.cli.garden import open_garden
from loamery.cli.show import console, literal, print_json, working
from loamery.errors import InputError, Where

if TYPE_CHECKING:
    from loamery.cli.options import UnitSystem
    from loamery.garden.model import Garden
    from loamery.season.plan import SeasonPlan

FORMATS = ("html", "pdf")


def run(
    garden: Path, into: Path | None, format: str, material: str | None, units: UnitSystem | None, json: bool
) -> None:
    """Write the report of a garden and say where it is."""
    from loamery.season import plan_season

    formats = formats_of(format)
    target = into or garden / "report"
    opened = open_garden(garden, units)
    with working(json) as tell:
        if material is not None:
            files = _fact_sheet(opened, material, target, formats, tell)
        else:
            files = write(plan_season(opened, tell), target, formats, tell)
    if json:
        print_json({"format": "loamery report 1", "folder": str(target), "files": [str(path) for path in files]})
        return
    for path in files:
        console().print(literal(path))


def formats_of(given: str) -> tuple[str, ...]:
    """Return the formats of an option.

    Raises
    ------
    InputError : one is not known, or there is none.
    """
    wanted = tuple(part.strip() for part in given.split(",") if part.strip())
    if not wanted or any(one not in FORMATS for one in wanted):
        raise InputError(
            f"“{given}”", where=Where(column="--format"), expected="html, pdf or html,pdf", remedy="name one or both"
        )
    return wanted


def _fact_sheet(
    garden: Garden, material: str, folder: Path, formats: Sequence[str], tell: Callable[[str], None]
) -> list[Path]:
    """Write the fact sheet of one material of the garden."""
    from loamery.errors import UnknownName
    from loamery.evidence import write_fact_sheet
    from loamery.season.prepare import prepare

    ids = [one.id for one in garden.materials]
    if material not in ids:
        raise UnknownName(
            f"material “{material}”",
            where=Where(column="--material"),
            expected="one of " + ", ".join(ids),
            remedy="name a material of the garden's materials.csv",
        )
    prepared = prepare(garden, tell)
    tell("writing the fact sheet")
    return write_fact_sheet(
        prepared.compositions[material], prepared.reports[material], garden, folder, formats=tuple(formats)
    )


def write(plan: SeasonPlan, folder: Path, formats: Sequence[str], tell: Callable[[str], None]) -> list[Path]:
    """Write the season report of a plan and return the files made."""
    from loamery.evidence import write_report

    return write_report(plan, folder, formats=tuple(formats), progress=tell)
