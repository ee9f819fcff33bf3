"""The commands that account for a season: what was saved, charts to pass on, the look back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loamery.cli.options import Anew, Form, GardenFolder, Json, Language, Tongue, Units

evidence = typer.Typer()


@evidence.command()
def benefit(
    garden: GardenFolder,
    basis: Annotated[
        str, typer.Option("--from", help="records, plan, or either: records where there are any")
    ] = "either",
    zone: Annotated[str | None, typer.Option(help="climate zone of the landfill; the garden's when left out")] = None,
    captured: Annotated[
        float | None, typer.Option(help="share of landfill gas that is caught, %; a range when left out")
    ] = None,
    landfilled: Annotated[float, typer.Option(help="share that would have gone to landfill, %")] = 100.0,
    into: Annotated[Path | None, typer.Option(help="folder for the sheets; GARDEN/report when left out")] = None,
    format: Form = "html,pdf",
    anew: Anew = False,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Say what free material saved: mass, methane, plant food, money; a thank-you sheet for each donor."""
    from loamery.cli.benefit import BenefitQuestion, run

    run(BenefitQuestion(garden, basis, zone, captured, landfilled, into, format, anew, language), units, json)


@evidence.command()
def share(
    garden: GardenFolder,
    into: Annotated[Path | None, typer.Option(help="folder for the pack; GARDEN/share when left out")] = None,
    anew: Anew = False,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Write every chart to pass on: SVG, pictures for slide and phone, figures, words and sources."""
    from loamery.cli.share import run

    run(garden, into, anew, language, units, json)


@evidence.command()
def review(
    garden: GardenFolder,
    year: Annotated[
        int | None, typer.Option(help="calendar year to look back on; the garden's season when left out")
    ] = None,
    into: Annotated[Path | None, typer.Option(help="folder for the sheet; GARDEN/report when left out")] = None,
    format: Form = "html,pdf",
    anew: Anew = False,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Look back on a season: planned and done, forecasts against readings, what was saved and learnt."""
    from loamery.cli.review import run

    run(garden, year, into, format, anew, language, units, json)
