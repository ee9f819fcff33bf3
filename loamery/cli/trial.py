"""``loamery trial``: the commands of a small field trial; their work stands in `trial_work` and is loaded when called."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loamery.cli.options import Form, GardenFolder, Json, Language, Tongue

trial = typer.Typer(
    no_args_is_help=True, help="Lay out, size and analyse a small field trial; two tests for the kitchen table."
)

Name = Annotated[str, typer.Argument(help="name of the trial, e.g. mulch-2027")]
Into = Annotated[Path | None, typer.Option(help="folder for the sheet and its charts; GARDEN/report when left out")]
Spread = Annotated[float | None, typer.Option(help="spread between plots treated alike, % of the mean; the usual of garden crops when left out")]  # fmt: skip

Crop = Annotated[str, typer.Option(help="crop grown on the plots: takes the spread published of it")]


@trial.command("lay-out")
def lay_out(
    garden: GardenFolder,
    name: Name,
    treatment: Annotated[list[str], typer.Option(help='treatment, e.g. "none=No addition"; once for each')],
    bed: Annotated[list[str] | None, typer.Option(help="bed to use; all of the garden's when left out")] = None,
    blocks: Annotated[int, typer.Option(help="how many blocks, or how often each treatment stands")] = 4,
    control: Annotated[str, typer.Option(help="treatment the others are compared with; every two when left out")] = "",
    random: Annotated[bool, typer.Option("--random", help="draw over all plots at once, without blocks")] = False,
    across: Annotated[bool, typer.Option("--across", help="a block may run on from one bed to the next")] = False,
    crop: Crop = "",
    size: Annotated[list[str] | None, typer.Option(help='measured bed, e.g. "kitchen-bed=8x1.2" (m)')] = None,
    gap: Annotated[float | None, typer.Option(help="untreated strip between plots, m")] = None,
    question: Annotated[str, typer.Option(help="what it is to find out, in one sentence")] = "",
    measured: Annotated[str, typer.Option(help="what will be read on each plot")] = "yield",
    unit: Annotated[str, typer.Option(help="its unit")] = "kg",
    per_plot: Annotated[bool, typer.Option("--per-plot", help="compare plots as they are, not per m²")] = False,
    average: Annotated[
        bool, typer.Option("--average", help="average several readings of a plot instead of adding them up")
    ] = False,
    starts: Annotated[str | None, typer.Option(help="first day of the trial; the season's when left out")] = None,
    ends: Annotated[str | None, typer.Option(help="last day of the trial; the season's when left out")] = None,
    seed: Annotated[int | None, typer.Option(help="of the lots; the garden's when left out")] = None,
    into: Into = None,
    format: Form = "html,pdf",
    language: Language = Tongue.en,
    json: Json = False,
) -> None:
    """Draw plots by lot on the garden's beds, write the trial's files and its map."""
    from loamery.cli.trial_work import LayOutQuestion, run_lay_out

    question_ = LayOutQuestion(
        garden, name, tuple(treatment), tuple(bed or ()), blocks, control, random, tuple(size or ()), gap, question, measured,
        unit, not per_plot, average, starts, ends, seed, into, format, across, crop, language,
    )  # fmt: skip
    run_lay_out(question_, json)


@trial.command()
def power(
    treatments: Annotated[int, typer.Option(help="how many, the control counted")] = 3,
    difference: Annotated[float, typer.Option(help="smallest difference worth finding, % of the mean")] = 30.0,
    spread: Spread = None,
    crop: Crop = "",
    blocks: Annotated[int | None, typer.Option(help="say what so many blocks see")] = None,
    pairs: Annotated[
        bool, typer.Option("--pairs", help="compare every two treatments, not each with a control")
    ] = False,
    random: Annotated[bool, typer.Option("--random", help="without blocks")] = False,
    json: Json = False,
) -> None:
    """Say how many plots find which difference."""
    from loamery.cli.trial_work import run_power

    run_power(treatments, difference, spread, crop, blocks, pairs, random, json)


@trial.command()
def enter(
    garden: GardenFolder,
    name: Name,
    file: Annotated[Path, typer.Argument(help="CSV of readings: plot, measured_on, value, lost, note")],
    json: Json = False,
) -> None:
    """Add readings to a trial, checked against its lay-out; a faulty file changes nothing."""
    from loamery.cli.trial_work import run_enter

    run_enter(garden, name, file, json)


@trial.command()
def analyse(
    garden: GardenFolder,
    name: Name,
    pairs: Annotated[
        bool, typer.Option("--pairs", help="print every difference, where there is no control too")
    ] = False,
    into: Into = None,
    format: Form = "html,pdf",
    language: Language = Tongue.en,
    json: Json = False,
) -> None:
    """Say what a trial shows, no stronger than its readings."""
    from loamery.cli.trial_work import run_analyse

    run_analyse(garden, name, pairs, into, format, language, json)


@trial.command()
def seedlings(
    file: Annotated[
        Path | None,
        typer.Argument(help="CSV of dishes: sample, seeds, sprouted, root_mm; prints how it is done when left out"),
    ] = None,
    json: Json = False,
) -> None:
    """Germination test: whether compost or a mulch harms seedlings."""
    from loamery.cli.trial_work import run_home_test

    run_home_test("germination", file, json)


@trial.command("self-heating")
def self_heating(
    file: Annotated[
        Path | None, typer.Argument(help="CSV of readings: day, temp_c, room_c; prints how it is done when left out")
    ] = None,
    json: Json = False,
) -> None:
    """Self-heating test in a vacuum flask: how ripe a compost is."""
    from loamery.cli.trial_work import run_home_test

    run_home_test("self-heating", file, json)
