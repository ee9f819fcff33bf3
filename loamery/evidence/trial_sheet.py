"""The sheet of a trial: what it shows, the picture, the lay-out, and the analysis behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from loamery.evidence.block import Block, Column, Figure, Items, Line, Notice, Para, Say, Section, Sheet, Table
from loamery.evidence.charts_trial import MOST_PAIRS, effects_chart, map_chart, readings_chart, treatment_swatches
from loamery.evidence.follow import Follow
from loamery.evidence.page import Page
from loamery.evidence.report import FORMATS, check_folder, check_formats, render, write_charts
from loamery.evidence.text import day_text, plural
from loamery.evidence.trial_traces import effect_trace, trial_ledger
from loamery.finding import Ledger
from loamery.garden.model import Garden
from loamery.saving import save_bytes
from loamery.trials.analyse import Analysis, VarianceRow
from loamery.trials.conclude import Conclusion
from loamery.trials.design import DESIGN_WORDS, Trial
from loamery.words import NBSP, number, range_text

INVENTED = "Invented: this trial and all its readings are made up to show how it works."
SOURCE_WORDS = {"block": "blocks", "treatment": "treatments", "error": "plots treated alike", "total": "in all"}


def layout_page(trial: Trial, garden: Garden, seen: Sequence[str], on: date | None = None) -> Page:
    """Return the sheet to lay a trial out by.

    Parameters
    ----------
    seen : what the trial can see, in sentences.
    """
    steps: list[Line] = [
        "Mark every plot with a stake and its number before anything is spread. The lots have been drawn: keep to them.",
        "Where the ground slopes, shades or changes, let each block lie on one kind of ground and the blocks differ.",
        "Treat all plots alike in everything else: same plants, same sowing day, same water.",
        "Leave the strips between plots untreated, and measure the inner part of each plot where roots could reach over.",
        f"Write each reading with its day into trials/{trial.trial.name}.csv; if a plot is lost, say why in the column “lost”.",
    ]
    sections = [
        Section("Where each treatment goes", "map", [Figure(map_chart(trial, _bed_names(garden))), _treatments(trial)]),
        Section("How to go about it", "steps", [Items(steps)]),
        Section("What it can see", "power", [Items(list(seen))]),
    ]
    return _page(trial, garden, "Lay-out of a trial", sections, on)


def trial_page(found: Analysis, told: Conclusion, garden: Garden, on: date | None = None) -> Page:
    """Return the sheet of an analysed trial."""
    first: list[Block] = [Para(told.lines[0], "lead")]
    first += [Items(list(told.lines[1:]))] if len(told.lines) > 1 else []
    first += [Notice(one) for one in told.findings]
    pictures: list[Block] = [Figure(readings_chart(found))] if found.frame.plots else []
    pictures += [Figure(effects_chart(found))] if found.effects else []
    sections = [Section("What it shows", "shows", [*first, *pictures])]
    if found.table:
        sections.append(Section("Analysis", "analysis", _analysis(found), fresh=True))
    sections.append(
        Section(
            "Lay-out", "map", [Figure(map_chart(found.trial, _bed_names(garden))), _treatments(found.trial)], fit=True
        )
    )
    return _page(found.trial, garden, "Trial", sections, on, trial_ledger(found))


def write_trial_sheet(page: Page, name: str, folder: Path, *, formats: Sequence[str] = FORMATS) -> list[Path]:
    """Write the sheet of a trial as trial-NAME.html and .pdf, its charts beside it, and return the paths."""
    wanted = check_formats(formats)
    check_folder(folder)
    made = {one: render(page, one, lambda _: None) for one in wanted}
    written = [save_bytes(folder / f"trial-{name}.{one}", content) for one, content in made.items()]
    return written + write_charts(page, folder / "charts")


def _bed_names(garden: Garden) -> dict[str, str]:
    return {one.id: one.name for one in garden.beds}


def _page(
    trial: Trial, garden: Garden, kind: str, sections: Sequence[Section], on: date | None, ledger: Ledger | None = None
) -> Page:
    day, head = on or date.today(), trial.trial
    invented = head.invented or garden.info.invented
    title = head.question or head.name
    sheet = Sheet(
        kind=kind,
        title=title,
        lines=[
            f"{garden.info.name}. {day_text(head.starts)} to {day_text(head.ends)}.",
            f"{DESIGN_WORDS[head.design].capitalize()}: {plural(len(trial.treatments), 'treatment')}, "
            f"{plural(trial.blocks, 'block' if head.design == 'complete_blocks' else 'repeat')}, {plural(len(trial.plots), 'plot')}. Sheet of {day_text(day)}.",
        ],
        banner=INVENTED if invented else "",
        day=day.isoformat(),
        foot=f"{garden.info.name} · trial {head.name} · {day_text(day)} · Loamery" + (" · invented" if invented else ""),
        sections=sections,
    )  # fmt: skip
    return Page(sheet, Follow(ledger or Ledger()))


def _treatments(trial: Trial) -> Table:
    looks = treatment_swatches(trial)
    rows: list[Sequence[Line]] = [
        (
            Say(looks[one.id].letters, strong=True),
            one.name + (" (control)" if one.id == trial.trial.control else ""),
            ", ".join(plot.id for plot in trial.plots if plot.treatment == one.id),
        )
        for one in trial.treatments
    ]
    return Table(
        "Treatments and their plots",
        (Column("", wide=0.4), Column("Treatment", wide=2.0), Column("Plots", wide=2.6)),
        rows,
    )


def _analysis(found: Analysis) -> list[Block]:
    parts: list[Block] = [_differences(found), _means(found), _variance(found), _checks(found)]
    spread = f"{number(found.sd, 2)} {found.frame.unit}, {number(100 * found.cv, 2)}{NBSP}% of the mean"
    lines: list[Line] = [("Plots treated alike spread by ", Say(spread, "spread"), ", inside a block.")]
    if found.block_gain is not None:
        lines.append(
            f"A plot in blocks was worth {number(found.block_gain, 3)} plots without them (relative efficiency)."
        )
    if (mixed := found.mixed) is not None:
        lines.append(
            f"With blocks as a draw from all blocks there might be (mixed model, restricted maximum likelihood): {number(mixed.block_sd, 3)} "
            f"between blocks, {number(mixed.plot_sd, 3)} between plots"
            + ("." if mixed.sound else "; the fit lies on its border, blocks hardly differ.")
        )
    if found.ranks is not None:
        lines.append(
            f"By ranks: {found.ranks.name}, statistic {number(found.ranks.statistic, 3)}, p = {number(found.ranks.p, 2)}."
        )
    return [*parts, Items(lines)]


def _differences(found: Analysis) -> Table:
    """Return the differences that chart and conclusion speak of, the clearest where there are many."""
    name = found.trial.treatment
    clearest = sorted(found.effects, key=lambda one: one.p)[:MOST_PAIRS]
    rows: list[Sequence[Line]] = [
        (f"{name(one.treatment).name} less {name(one.reference).name}", Say(number(one.difference.median, 3), effect_trace(one)), range_text(one.difference),
         f"{number(one.percent.median, 2)}{NBSP}%", "below 0.001" if one.p < 0.001 else f"{one.p:.3f}")
        for one in found.effects if one in clearest
    ]  # fmt: skip
    columns = (
        Column("Difference", wide=2.4),
        Column(found.frame.unit, "right"),
        Column(f"90{NBSP}% interval", "right", wide=1.3),
        Column("Of the other", "right"),
        Column("p, all together", "right"),
    )
    left = len(found.effects) - len(rows)
    return Table(
        "Differences",
        columns,
        rows,
        f"The {len(rows)} clearest; {left} more stand in the chart's figures." if left else "",
    )


def _variance(found: Analysis) -> Table:
    rows = [_variance_row(one) for one in found.table]
    columns = (
        Column("Source", wide=1.6),
        *(Column(one, "right") for one in ("df", "Sum of squares", "Mean square", "F", "p")),
    )
    return Table("Analysis of variance", columns, rows, "Each source is fitted after the other.")


def _variance_row(one: VarianceRow) -> tuple[Line, ...]:
    ratio = (
        ("", "")
        if one.f is None or one.p is None
        else (number(one.f, 3), number(one.p, 2) if one.p >= 1e-4 else "below 0.0001")
    )
    return (
        SOURCE_WORDS[one.source],
        str(one.df),
        Say(number(one.sum_sq, 4), f"variance/{one.source}"),
        number(one.mean_sq, 3) if one.source != "total" else "",
        *ratio,
    )


def _means(found: Analysis) -> Table:
    rows: list[Sequence[Line]] = [
        (found.trial.treatment(key).name, Say(number(one.median, 3), f"mean/{key}"), range_text(one))
        for key, one in zip(found.frame.keys, found.mean_bands, strict=True)
    ]
    columns = (
        Column("Treatment", wide=2.0),
        Column(f"Mean, {found.frame.unit}", "right"),
        Column(f"90{NBSP}% interval", "right"),
    )
    return Table("Means, blocks evened out", columns, rows)


def _checks(found: Analysis) -> Table:
    rows: list[Sequence[Line]] = [
        (
            one.words[0].upper() + one.words[1:],
            one.test,
            "" if one.p is None else number(one.p, 2),
            one.answer + (f": {one.because}" if one.because else ""),
        )
        for one in found.checks
    ]
    columns = (
        Column("Assumption", wide=2.0),
        Column("Test", wide=1.6),
        Column("p", "right", wide=0.6),
        Column("Answer", wide=1.6),
    )
    note = "Where one fails, ranks and drawing the lots again decide instead." if found.method == "lots" else ""
    return Table("Assumptions", columns, rows, note)
