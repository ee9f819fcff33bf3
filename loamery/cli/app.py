"""The commands and their options; each command's work stands in a module of its own and is loaded when it is called."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loamery import __version__
from loamery.cli.evidence import evidence
from loamery.cli.options import Anew, GardenFolder, Json, Language, Tongue, Units, UnitSystem
from loamery.cli.trial import trial
from loamery.cli.web import web

app = typer.Typer(
    name="loamery",
    help="From lab reports of free organic by-products and of soil to a season plan, and the evidence for it.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.add_typer(evidence)
app.add_typer(trial, name="trial")
app.add_typer(web)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"loamery {__version__}")
        raise typer.Exit


@app.callback()
def options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="say which version")
    ] = False,
) -> None:
    """From lab reports of free organic by-products and of soil to a season plan, and the evidence for it."""


@app.command()
def demo(
    into: Annotated[Path, typer.Option(help="where the demo garden and its report go")] = Path("loamery-demo"),
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Plan the invented demo garden and write its season report."""
    from loamery.cli.demo import run

    run(into, language, units, json)


@app.command()
def init(folder: Annotated[Path, typer.Argument(help="new folder")], json: Json = False) -> None:
    """Write a commented starter garden into a new folder."""
    from loamery.cli.garden import run_init

    run_init(folder, json)


@app.command()
def schema() -> None:
    """Print the JSON Schema of a garden."""
    from loamery.garden.schema import schema_text

    typer.echo(schema_text(), nl=False)


@app.command()
def lab(
    file: Annotated[Path, typer.Argument(help="laboratory report: CSV, XLSX or PDF with a table")],
    material: Annotated[
        str | None, typer.Option(help="what it is, e.g. coffee-spent; checks it against published ranges")
    ] = None,
    sample: Annotated[
        str | None, typer.Option(help="which sample, when the file holds several; `all` for every one")
    ] = None,
    answer: Annotated[
        list[str] | None, typer.Option(help="answer to a question of the reading, e.g. basis=dry")
    ] = None,
    limits: Annotated[str | None, typer.Option(help="legal limits to hold it against: us, ca-a, ca-b or eu")] = None,
    units: Units = None,
    json: Json = False,
) -> None:
    """Read a laboratory report: what it says, what it is worth as plant food, what is wrong with it."""
    from loamery.cli.lab import run

    run(file, material, sample, answer or [], limits, "us" if units is UnitSystem.us else "metric", json)


@app.command()
def blend(
    materials: Annotated[
        list[str], typer.Argument(help="materials: ids of the garden, or reference names such as coffee-spent")
    ],
    garden: Annotated[Path | None, typer.Option(help="garden folder whose reports and materials are used")] = None,
    total: Annotated[str | None, typer.Option(help='how much in all, e.g. "200 kg" or "1 m3"')] = None,
    stock: Annotated[list[str] | None, typer.Option(help='how much there is, e.g. "grounds=40 kg"')] = None,
    objective: Annotated[
        str, typer.Option(help="closest, most_mass, least_labour, least_bought or use_most:NAME")
    ] = "closest",
    buckets: Annotated[bool, typer.Option(help="whole buckets only")] = False,
    bucket: Annotated[str | None, typer.Option(help='size of a bucket, e.g. "20 L" or "5 gal"')] = None,
    water: Annotated[bool, typer.Option(help="whether water may be added")] = True,
    robust: Annotated[bool, typer.Option(help="hold the bounds in 90 % of draws, not at the medians only")] = True,
    preferred: Annotated[bool, typer.Option(help="hold the preferred ranges instead of the reasonable ones")] = False,
    units: Units = None,
    json: Json = False,
) -> None:
    """Say how much of which materials make a heap: kilograms, litres, buckets, water."""
    from loamery.cli.blend import Question, run

    question = Question(
        tuple(materials), garden, total, tuple(stock or ()), objective, buckets, bucket, water, robust, preferred
    )
    run(question, units, json)


@app.command()
def season(
    garden: GardenFolder,
    since: Annotated[
        str | None,
        typer.Option("--from", help="first day to plan anew, as 2027-06-14; before it counts what was really done"),
    ] = None,
    units: Units = None,
    json: Json = False,
) -> None:
    """Plan the season: which material goes where in which week, and what that delivers."""
    from loamery.cli.season import run

    run(garden, since, units, json)


@app.command()
def replay(
    garden: GardenFolder,
    rounds: Annotated[int, typer.Option(help="how often it is solved at most, 1 to 8")] = 4,
    draws: Annotated[int, typer.Option(help="fresh seasons the plan is judged in, 3 to 400")] = 60,
    into: Annotated[Path | None, typer.Option(help="folder for the charts")] = None,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Play the plan through the models of heap and bed in seasons it was not made for: does it hold?"""
    from loamery.cli.explained import run_replay

    run_replay(garden, rounds, draws, into, language, units, json)


@app.command()
def compare(
    garden: GardenFolder,
    without: Annotated[list[str] | None, typer.Option(help="a donor who gives nothing any more")] = None,
    bed: Annotated[list[str] | None, typer.Option(help='a bed that is added, e.g. "tomato=6 m2"')] = None,
    rain: Annotated[float | None, typer.Option(help="share of the usual rain, e.g. 0.4")] = None,
    price: Annotated[list[str] | None, typer.Option(help='price per kilogram, e.g. "town-compost=0.12"')] = None,
    draws: Annotated[int, typer.Option(help="seasons both are played in, 3 to 400")] = 60,
    into: Annotated[Path | None, typer.Option(help="folder for the chart")] = None,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Ask what if; with no change asked for, set the plan beside the rules a careful grower goes by."""
    from loamery.cli.explained import WhatIf, run_compare

    what = WhatIf(tuple(without or ()), tuple(bed or ()), rain, tuple(price or ()))
    run_compare(garden, what, draws, into, language, units, json)


@app.command()
def worth(
    garden: GardenFolder,
    draws: Annotated[int, typer.Option(help="seasons tests are weighed in, 100 to 5000")] = 800,
    harvest_price: Annotated[
        float | None, typer.Option(help="what a kilogram of harvest is worth, in the garden's currency")
    ] = None,
    into: Annotated[
        Path | None, typer.Option(help="folder for the sheet of tests, as HTML and PDF, and its charts")
    ] = None,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Say what one more sack, square metre or hour would spare, and which laboratory test is worth its price."""
    from loamery.cli.explained import run_worth

    run_worth(garden, draws, harvest_price, into, language, units, json)


@app.command()
def report(
    garden: GardenFolder,
    into: Annotated[Path | None, typer.Option(help="folder for the report; GARDEN/report when left out")] = None,
    format: Annotated[str, typer.Option(help="html, pdf or html,pdf; slide too for a fact sheet")] = "html,pdf",
    material: Annotated[str | None, typer.Option(help="write the fact sheet of one material only")] = None,
    beside: Annotated[
        str | None, typer.Option(help="bought fertiliser a fact sheet compares with; an id of fertilisers.csv")
    ] = None,
    explain: Annotated[
        bool, typer.Option(help="play the plan, set it beside the rules of the hand, say what would help most")
    ] = True,
    anew: Anew = False,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Write the season report, or the fact sheet of one material, as HTML and PDF."""
    from loamery.cli.report import run

    run(garden, into, format, material, beside, explain, anew, language, units, json)


@app.command()
def heap(
    garden: Annotated[
        Path | None,
        typer.Argument(help="garden folder; its heap materials, heap and climate are used", metavar="GARDEN"),
    ] = None,
    materials: Annotated[
        list[str] | None,
        typer.Option("--with", help='material, by itself or with its amount, e.g. "coffee-spent=40 kg"'),
    ] = None,
    water: Annotated[str | None, typer.Option(help='water added when it is built, e.g. "30 kg"')] = None,
    heap: Annotated[str | None, typer.Option(help="which heap of the garden; the first when left out")] = None,
    size: Annotated[str | None, typer.Option(help='volume as built, e.g. "1 m3" or "27 ft3"')] = None,
    shape: Annotated[str | None, typer.Option(help="pile or bin")] = None,
    walls: Annotated[str | None, typer.Option(help="of a bin: open, boards or insulated")] = None,
    covered: Annotated[bool, typer.Option(help="whether rain is kept off")] = False,
    start: Annotated[str | None, typer.Option(help="day it is built, e.g. 2027-05-01")] = None,
    start_temp: Annotated[float | None, typer.Option(help="of the materials, °C; the air's when left out")] = None,
    compost: Annotated[float, typer.Option(help="share of finished compost in the dry matter")] = 0.0,
    days: Annotated[int, typer.Option(help="how many days are foreseen")] = 180,
    turn: Annotated[list[str] | None, typer.Option(help="days of turning, e.g. 7,14,28; or search")] = None,
    watering: Annotated[list[str] | None, typer.Option(help='water given, e.g. "14=40 kg"')] = None,
    goal: Annotated[str, typer.Option(help="what days are searched for: hygiene, speed or both")] = "both",
    readings: Annotated[Path | None, typer.Option(help="CSV of thermometer readings: date, depth_cm, temp_c")] = None,
    reading: Annotated[list[str] | None, typer.Option(help="one reading, e.g. 2027-05-09,40,58 (cm, °C)")] = None,
    air: Annotated[str | None, typer.Option(help="mean air temperature instead of normals, e.g. 12C or 54F")] = None,
    weather: Annotated[
        Path | None,
        typer.Option(help="CSV of measured days: day, min_temp_c, max_temp_c, rain_mm; normals fill the others"),
    ] = None,
    draws: Annotated[int, typer.Option(help="runs of the ensemble, 3 to 2000")] = 100,
    cluster: Annotated[
        str | None, typer.Option(help="address of a dask scheduler that runs them, e.g. tcp://10.0.0.5:8786")
    ] = None,
    into: Annotated[Path | None, typer.Option(help="folder for the sheet of the heap and its charts")] = None,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Foresee a heap: temperature by depth and day, when it is ready, hygiene, what is left; learn from a thermometer."""
    from loamery.cli.heap import HeapQuestion, run

    question = HeapQuestion(
        garden, heap, tuple(materials or ()), water, size, shape, walls, covered, start, start_temp, compost, days,
        tuple(turn or ()), tuple(watering or ()), goal, readings, tuple(reading or ()), air, weather, draws, cluster, into, language,
    )  # fmt: skip
    run(question, units, json)


@app.command()
def mulch(
    materials: Annotated[
        list[str], typer.Argument(help='materials, by themselves or with amounts, e.g. "coffee-spent=20 L"')
    ],
    garden: Annotated[Path | None, typer.Option(help="garden folder whose reports and materials are used")] = None,
    air: Annotated[str | None, typer.Option(help="mean air temperature, e.g. 20C or 68F")] = None,
    rain: Annotated[float | None, typer.Option(help="shower it should let in, mm an hour")] = None,
    draws: Annotated[int, typer.Option(help="runs of each depth, 3 to 200")] = 40,
    table: Annotated[bool, typer.Option(help="whether depth is also set against the share of fines")] = True,
    into: Annotated[Path | None, typer.Option(help="folder for the sheet of the mulch and its charts")] = None,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Say how thick a mulch may be before it goes airless, heats, or keeps the rain out."""
    from loamery.cli.mulch import MulchQuestion, run

    run(MulchQuestion(tuple(materials), garden, air, rain, draws, table, into, language), units, json)


@app.command()
def bed(
    garden: Annotated[
        Path | None,
        typer.Argument(help="garden folder; its bed, soil test, crops and climate are used", metavar="GARDEN"),
    ] = None,
    bed: Annotated[str | None, typer.Option(help="which bed of the garden")] = None,
    materials: Annotated[
        list[str] | None,
        typer.Option("--with", help='material with its amount for the whole bed, e.g. "coffee-spent=20 L"'),
    ] = None,
    use: Annotated[str, typer.Option(help="dig_in, mulch, composted or worm_worked")] = "dig_in",
    day: Annotated[str | None, typer.Option(help="day it is given, e.g. 2027-05-01")] = None,
    area: Annotated[
        str | None, typer.Option(help='without a garden: size of the bed, e.g. "10 m2" or "100 ft2"')
    ] = None,
    texture: Annotated[str | None, typer.Option(help="without a garden: sand, loamy sand, sandy loam, loam, …")] = None,
    crop: Annotated[
        str | None, typer.Option(help="without a garden: what is planted two weeks later, e.g. tomato")
    ] = None,
    air: Annotated[
        str | None, typer.Option(help="without a garden: mean air temperature of the year, e.g. 10C")
    ] = None,
    weeks: Annotated[int, typer.Option(help="how many weeks are foreseen, 4 to 104")] = 26,
    draws: Annotated[int, typer.Option(help="runs the bands rest on, 1 to 1000")] = 200,
    into: Annotated[Path | None, typer.Option(help="folder for the sheet and its charts")] = None,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Say what a material does to a bed: nitrogen given and taken by week, pH, salt, plant food, ceilings."""
    from loamery.cli.bed import GiftQuestion, run

    run(
        GiftQuestion(
            garden, bed, tuple(materials or ()), use, day, area, texture, crop, air, draws, weeks, into, language
        ),
        units,
        json,
    )


@app.command()
def worms(
    garden: GardenFolder,
    bed: Annotated[str | None, typer.Option(help="which worm bed; all of them when left out")] = None,
    materials: Annotated[
        list[str] | None,
        typer.Option("--with", help="material or mix to feed; each of the garden's feeds when left out"),
    ] = None,
    every: Annotated[float, typer.Option(help="days between feedings")] = 7.0,
    weeks: Annotated[int, typer.Option(help="how many weeks are foreseen")] = 26,
    air: Annotated[
        str | None, typer.Option(help="temperature of the bed, e.g. 20C; the air of the place when left out")
    ] = None,
    weather: Annotated[
        Path | None,
        typer.Option(help="CSV of measured days: day, min_temp_c, max_temp_c, rain_mm; normals fill the others"),
    ] = None,
    into: Annotated[Path | None, typer.Option(help="folder for the sheet of the worm beds and its charts")] = None,
    language: Language = Tongue.en,
    units: Units = None,
    json: Json = False,
) -> None:
    """Say how much a worm bed can be given at a time, and how worms and castings grow."""
    from loamery.cli.worms import WormQuestion, run

    run(WormQuestion(garden, bed, tuple(materials or ()), every, weeks, air, weather, into, language), units, json)
