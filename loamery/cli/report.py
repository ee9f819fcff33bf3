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
    from loamery.garden.model import Fertiliser, Garden
    from loamery.season.explained import Explained
    from loamery.season.kept import KeptPlan
    from loamery.season.make import Solved
    from loamery.season.plan import SeasonPlan

FORMATS = ("html", "pdf")
FACT_FORMATS = ("html", "pdf", "slide")


def run(
    garden: Path,
    into: Path | None,
    format: str,
    material: str | None,
    beside: str | None,
    explain: bool,
    anew: bool,
    language: str,
    units: UnitSystem | None,
    json: bool,
) -> None:
    """Write the report of a garden and say where it is."""
    formats = formats_of(format, FORMATS if material is None else FACT_FORMATS)
    target = into or garden / "report"
    opened = open_garden(garden, units)
    kept = None
    with working(json) as tell:
        if material is not None:
            files = _fact_sheet(opened, material, beside, target, formats, language, tell)
        else:
            kept, files = _season_report(opened, target, formats, language, explain, anew, tell)
    if json:
        made = {"plan_made": kept.made.isoformat()} if kept else {}
        document = {"format": "loamery report 1", "folder": str(target), "files": [str(path) for path in files]}
        print_json({**document, **made})
        return
    if kept:
        console().print(literal(kept.words))
    for path in files:
        console().print(literal(path))


def _season_report(
    garden: Garden,
    folder: Path,
    formats: Sequence[str],
    language: str,
    explain: bool,
    anew: bool,
    tell: Callable[[str], None],
) -> tuple[KeptPlan, list[Path]]:
    from loamery.season.kept import plan_kept

    if explain:
        kept, explained = explain_kept(garden, tell, anew=anew)
        return kept, write(explained.plan, folder, formats, language, tell, explained)
    kept = plan_kept(garden, tell, anew=anew)
    return kept, write(kept.plan, folder, formats, language, tell)


def explain_kept(garden: Garden, tell: Callable[[str], None], *, anew: bool = False) -> tuple[KeptPlan, Explained]:
    """Return the plan of a garden, kept or made now, and what the models make of it for a report."""
    from loamery.season.explained import explain_season
    from loamery.season.kept import prepared_kept
    from loamery.season.prepare import prepare

    prepared = prepare(garden, tell)
    made: list[KeptPlan] = []

    def first() -> Solved:
        made.append(prepared_kept(prepared, tell, anew=anew))
        return made[0].solved

    explained = explain_season(prepared, tell, first=first, quick=True)
    return made[0], explained


def formats_of(given: str, known: Sequence[str] = FORMATS) -> tuple[str, ...]:
    """Return the formats of an option.

    Raises
    ------
    InputError : one is not known, or there is none.
    """
    wanted = tuple(part.strip() for part in given.split(",") if part.strip())
    if not wanted or any(one not in known for one in wanted):
        raise InputError(
            f"“{given}”", where=Where(column="--format"), expected=", ".join(known) + " or several of them",
            remedy="for example --format html,pdf",
        )  # fmt: skip
    return wanted


def _fact_sheet(
    garden: Garden,
    material: str,
    beside: str | None,
    folder: Path,
    formats: Sequence[str],
    language: str,
    tell: Callable[[str], None],
) -> list[Path]:
    """Write the fact sheet of one material of the garden."""
    from loamery.errors import UnknownName
    from loamery.evidence import write_fact_sheet
    from loamery.evidence.effects_here import look_around
    from loamery.season.prepare import prepare

    ids = [one.id for one in garden.materials]
    if material not in ids:
        raise UnknownName(
            f"material “{material}”",
            where=Where(column="--material"),
            expected="one of " + ", ".join(ids),
            remedy="name a material of the garden's materials.csv",
        )
    bought = _fertiliser(garden, beside)
    prepared = prepare(garden, tell)
    here = look_around(prepared, material, bought, tell)
    tell("writing the fact sheet")
    return write_fact_sheet(
        prepared.compositions[material],
        prepared.reports[material],
        garden,
        folder,
        formats=tuple(formats),
        here=here,
        language=language,
    )


def _fertiliser(garden: Garden, wanted: str | None) -> Fertiliser | None:
    """Return the bought fertiliser a sheet compares with: the one named, else the first of the garden's list."""
    from loamery.errors import UnknownName

    shop = {one.id: one for one in garden.fertilisers}
    if wanted is None:
        return next(iter(shop.values()), None)
    if wanted not in shop:
        raise UnknownName(
            f"fertiliser “{wanted}”", where=Where(column="--beside"), expected="one of " + ", ".join(shop) if shop else "a row of fertilisers.csv; there are none yet",
            remedy="name a fertiliser of the garden's fertilisers.csv",
        )  # fmt: skip
    return shop[wanted]


def write(
    plan: SeasonPlan,
    folder: Path,
    formats: Sequence[str],
    language: str,
    tell: Callable[[str], None],
    explained: Explained | None = None,
) -> list[Path]:
    """Write the season report of a plan and return the files made."""
    from loamery.evidence import write_report

    return write_report(plan, folder, formats=tuple(formats), explained=explained, language=language, progress=tell)
