"""The work behind ``loamery trial``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loamery.cli.garden import open_garden
from loamery.cli.report import formats_of
from loamery.cli.show import console, literal, number, pairs, print_findings, print_json, print_table, working
from loamery.errors import InputError, UnknownName, Where

if TYPE_CHECKING:
    from loamery.garden.model import Bed, Garden
    from loamery.trials.analyse import Analysis
    from loamery.trials.conclude import Conclusion
    from loamery.trials.design import Head, Treatment, Trial
    from loamery.trials.power import Layout


@dataclass(frozen=True)
class LayOutQuestion:
    """What a person asked of a lay-out, as typed."""

    garden: Path
    name: str
    treatments: tuple[str, ...]
    beds: tuple[str, ...]
    blocks: int
    control: str
    random: bool
    sizes: tuple[str, ...]
    gap: float | None
    question: str
    measured: str
    unit: str
    per_m2: bool
    average: bool
    starts: str | None
    ends: str | None
    seed: int | None
    into: Path | None
    format: str
    across: bool
    crop: str
    language: str


def run_lay_out(asked: LayOutQuestion, json: bool) -> None:
    """Draw the lots of a trial, write its files, and say where they are."""
    from loamery.evidence.trial_sheet import layout_page, write_trial_sheet
    from loamery.trials.folder import trial_path, write_trial
    from loamery.trials.lay_out import bed_shapes, lay_out
    from loamery.trials.power import seen_by

    formats = formats_of(asked.format)
    garden = open_garden(asked.garden, None)
    head = _head(asked, garden)
    shapes = bed_shapes(_beds(garden, asked.beds), _sizes(asked.sizes))
    made = lay_out(head, _treatments(asked.treatments), shapes, asked.blocks, asked.gap, across=asked.across)
    files = write_trial(asked.garden, made)
    with working(json):
        page = layout_page(made, garden, seen_by(made))
        files += write_trial_sheet(
            page.in_language(asked.language),
            f"{head.name}-lay-out",
            asked.into or asked.garden / "report",
            formats=formats,
        )
    if json:
        print_json(
            {
                "format": "loamery trial lay-out 1",
                "trial": made.model_dump(mode="json"),
                "files": [str(one) for one in files],
            }
        )
        return
    _print_plots(made)
    out = console()
    for line in seen_by(made):
        out.print(literal(line))
    out.print()
    for path in files:
        out.print(literal(path))
    readings = trial_path(asked.garden, head.name).with_suffix(".csv")
    out.print(
        f"\nWrite the readings into {literal(readings)}, then run:  loamery trial analyse {literal(asked.garden)} {literal(head.name)}"
    )


def _head(asked: LayOutQuestion, garden: Garden) -> Head:
    from datetime import timedelta

    from pydantic import ValidationError

    from loamery.garden.rows import faults_of
    from loamery.trials.design import Head
    from loamery.trials.power import crop_slug

    info = garden.info
    values: dict[str, Any] = {
        "name": asked.name, "question": asked.question, "control": asked.control, "measured": asked.measured, "unit": asked.unit,
        "design": "completely_random" if asked.random else "complete_blocks", "per_m2": asked.per_m2,
        "several": "mean" if asked.average else "sum", "crop": crop_slug(asked.crop) if asked.crop else "", "invented": info.invented,
        "seed": info.seed if asked.seed is None else asked.seed, "starts": asked.starts or info.season_start,
        "ends": asked.ends or info.season_start + timedelta(weeks=info.season_weeks),
    }  # fmt: skip
    try:
        return Head.model_validate(values)
    except ValidationError as error:
        raise next(iter(faults_of(error, "the options", None, {}, Head))) from None


def _beds(garden: Garden, wanted: Sequence[str]) -> list[Bed]:
    known = {one.id: one for one in garden.beds}
    for one in wanted:
        if one not in known:
            raise UnknownName(
                f"bed “{one}”",
                where=Where(column="--bed"),
                expected="one of " + ", ".join(known),
                remedy="correct the name",
            )
    return [known[one] for one in wanted] if wanted else list(garden.beds)


def _treatments(given: Sequence[str]) -> list[Treatment]:
    from pydantic import ValidationError

    from loamery.garden.rows import faults_of
    from loamery.trials.design import Treatment

    found = []
    for text in given:
        key, _, name = text.partition("=")
        try:
            found.append(Treatment(id=key.strip(), name=name.strip() or key.strip()))
        except ValidationError as error:
            raise next(iter(faults_of(error, "--treatment", None, {}, Treatment))) from None
    return found


def _sizes(given: Sequence[str]) -> dict[str, tuple[float, float]]:
    sizes = {}
    for key, text in pairs(given, "--size").items():
        try:
            length, width = (float(part) for part in text.lower().replace("×", "x").split("x"))
        except ValueError:
            length = width = 0.0
        if not (0.0 < width <= 100.0 and 0.0 < length <= 1000.0):
            raise InputError(
                f"“{key}={text}”",
                where=Where(column="--size"),
                expected="BED=LENGTHxWIDTH in metres",
                remedy='for example "kitchen-bed=8x1.2"',
            )
        sizes[key] = (length, width)
    return sizes


def _print_plots(made: Trial) -> None:
    rows = [(one.id, one.bed, made.treatment(one.treatment).name, f"{one.x_m:.2f} m", f"{one.length_m:.2f} × {one.width_m:.2f} m") for one in made.plots]  # fmt: skip
    print_table("Plots, drawn by lot", ("plot", "bed", "treatment", "begins at", "size"), rows, ("begins at", "size"))


def run_power(
    treatments: int,
    difference: float,
    spread: float | None,
    crop: str,
    blocks: int | None,
    every_pair: bool,
    random: bool,
    json: bool,
) -> None:
    """Say how many blocks find which difference."""
    from loamery.trials.power import Layout, blocks_needed, detectable, plot_spread, power_of_pair

    if not 2 <= treatments <= 20 or (blocks is not None and not 2 <= blocks <= 200):
        raise InputError(
            f"{treatments} treatments, {blocks} blocks", where=Where(column="--treatments"), expected="2 to 20 treatments and 2 to 200 blocks",
            remedy="for example --treatments 3 --blocks 4",
        )  # fmt: skip
    if spread is not None and crop:
        raise InputError(
            "--spread and --crop", where=Where(column="--crop"), expected="one of the two", remedy="leave one out; a spread of your own is better"
        )  # fmt: skip
    cv = plot_spread(crop).value if spread is None else spread / 100.0
    layout = Layout(treatments, 2, "completely_random" if random else "complete_blocks", not every_pair)
    needed = blocks_needed(layout, difference / 100.0, cv)
    counts = [blocks] if blocks is not None else sorted({2, 3, 4, 6, 8, 12, *([needed] if needed else [])})
    rows = []
    for count in counts:
        one = Layout(treatments, count, layout.design, layout.control)
        rows.append(
            {
                "blocks": count,
                "plots": one.plots,
                "found": power_of_pair(one, difference / 100.0, cv),
                "sees_percent": 100.0 * detectable(one, cv),
            }
        )
    if json:
        print_json(
            {
                "format": "loamery trial power 1",
                "treatments": treatments,
                "difference_percent": difference,
                "spread_percent": 100 * cv,
                "blocks_needed": needed,
                "rows": rows,
            }
        )
        return
    _print_power(layout, difference, cv, needed, rows)


def _print_power(
    layout: Layout, difference: float, cv: float, needed: int | None, rows: Sequence[dict[str, Any]]
) -> None:
    word = "blocks" if layout.design == "complete_blocks" else "repeats"
    plots = f", {needed * layout.treatments} plots" if needed else ""
    console().print(
        f"{layout.treatments} treatments, spread {100 * cv:.0f} % between plots treated alike: "
        + (f"[bold]{needed} {word}{plots}[/] find a difference of {difference:g} % in eight of ten trials.\n" if needed else f"a difference of {difference:g} % takes more than 200 {word}.\n")
    )  # fmt: skip
    shown = [
        (one["blocks"], one["plots"], f"{100 * one['found']:.0f} %", f"{one['sees_percent']:.0f} %") for one in rows
    ]
    print_table(
        "What so many see", (word, "plots", f"find {difference:g} %", "smallest seen in 8 of 10"), shown, (word, "plots", f"find {difference:g} %", "smallest seen in 8 of 10"),
    )  # fmt: skip


def run_enter(folder: Path, name: str, file: Path, json: bool) -> None:
    """Add the readings of a file to a trial and say how many are still missing."""
    from loamery.trials.enter import add_readings
    from loamery.trials.folder import read_trial

    open_garden(folder, None)
    done = add_readings(folder, read_trial(folder, name), file)
    if json:
        print_json({"format": "loamery trial readings 1", **done.as_dict()})
        return
    console().print(f"{done.added} readings added, {done.known} were there already. {literal(done.path)}")
    missing = ", ".join(done.missing)
    console().print(
        f"Still without a reading: plots {literal(missing)}"
        if missing
        else "Every plot has a reading or a reason for having none."
    )


def run_analyse(
    folder: Path, name: str, every_pair: bool, into: Path | None, format: str, language: str, json: bool
) -> None:
    """Analyse a trial, write its sheet, and say what it shows."""
    from loamery.evidence.trial_sheet import trial_page, write_trial_sheet
    from loamery.trials.analyse import analyse
    from loamery.trials.conclude import conclude
    from loamery.trials.folder import read_readings, read_trial, trial_path

    formats = formats_of(format)
    garden = open_garden(folder, None)
    made = read_trial(folder, name)
    with working(json) as tell:
        tell("analysing")
        found = analyse(made, read_readings(trial_path(folder, name).with_suffix(".csv"), made))
        told = conclude(found)
        tell("writing the sheet")
        page = trial_page(found, told, garden).in_language(language)
        files = write_trial_sheet(page, name, into or folder / "report", formats=formats)
    if json:
        print_json(_document(found, told, files))
        return
    _print_analysis(found, told, every_pair)
    for path in files[: len(formats)]:
        console().print(literal(path))


def _document(found: Analysis, told: Conclusion, files: Sequence[Path]) -> dict[str, Any]:
    return {
        "format": "loamery trial 1", "trial": found.trial.trial.name, "design": found.trial.trial.design, "unit": found.frame.unit,
        "conclusion": told.as_dict(), "method": found.method,
        "means": [{"treatment": key, **one.as_dict()} for key, one in zip(found.frame.keys, found.mean_bands, strict=False)],
        "effects": [one.as_dict() for one in found.effects], "variance": [dict(vars(one)) for one in found.table],
        "letters": [{"treatment": key, "mean": mean, "letters": shared} for key, mean, shared in _letters(found)],
        "checks": [one.as_dict() for one in found.checks], "ranks": found.ranks.as_dict() if found.ranks else None,
        "mixed": found.mixed.as_dict() if found.mixed else None,
        "spread_percent": 100 * found.cv if found.table else None, "files": [str(one) for one in files],
    }  # fmt: skip


def _letters(found: Analysis) -> list[tuple[str, float, str]]:
    """Return treatment, mean and letters where every two treatments are compared."""
    from loamery.trials.letters import letters_found

    return letters_found(found) if found.effects and not found.frame.control else []


def _print_analysis(found: Analysis, told: Conclusion, every_pair: bool) -> None:
    out = console()
    out.print(f"[bold]{literal(told.lines[0])}[/]")
    for line in told.lines[1:]:
        out.print(literal(line))
    out.print()
    name = found.trial.treatment
    if letters := _letters(found):
        print_table(
            f"Means, {found.frame.unit}: two that share a letter were not told apart",
            ("treatment", "mean", "letters"), [(name(key).name, number(mean), shared) for key, mean, shared in letters], ("mean",),
        )  # fmt: skip
    if found.effects and (found.frame.control or every_pair):
        rows = [
            (name(one.treatment).name, name(one.reference).name, number(one.difference.median), f"{number(one.difference.low, 2)} to {number(one.difference.high, 2)}",
             f"{one.percent.median:.0f} %", "below 0.001" if one.p < 0.001 else f"{one.p:.3f}")
            for one in found.effects
        ]  # fmt: skip
        print_table(
            f"Differences, {found.frame.unit}",
            ("treatment", "less", "difference", "90 % interval", "percent", "p, all together"),
            rows,
            ("difference", "percent", "p, all together"),
        )
    print_findings(told.findings)


def run_home_test(test: str, file: Path | None, json: bool) -> None:
    """Tell the outcome of a home test, or how it is done."""
    from loamery.trials import home_tests as home

    if file is None:
        steps = home.GUIDES[test]
        if json:
            print_json({"format": "loamery trial home-test 1", "test": test, "steps": list(steps)})
            return
        for at, step in enumerate(steps, start=1):
            console().print(f"{at}. {literal(step)}")
        return
    if test == "germination":
        done = home.germination(home.read_home_test(file, home.Dish))
    else:
        done = [home.self_heating(home.read_home_test(file, home.Warmth), file.stem)]
    if json:
        print_json({"format": "loamery trial home-test 1", "test": test, "results": [one.as_dict() for one in done]})
        return
    for one in done:
        unit = "%" if test == "germination" else "°C above the room"
        console().print(
            f"[bold]{literal(one.sample)}[/]: {number(one.value.median)} {unit} ({number(one.value.low)} to {number(one.value.high)}). {literal(one.text)}"
        )
        print_findings(one.findings)
