"""The sheet of a trial: what it shows, the picture, the lay-out, and the analysis behind it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
from loamery.say import Verbatim, say
from loamery.trials.analyse import Analysis, VarianceRow
from loamery.trials.checks import ASSUMPTIONS, Check
from loamery.trials.conclude import Conclusion
from loamery.trials.design import DESIGN_WORDS, Trial
from loamery.words import NBSP, number, range_text

INVENTED = say("Invented: this trial and all its readings are made up to show how it works.")
SOURCE_WORDS = {
    "block": say("blocks"),
    "treatment": say("treatments"),
    "error": say("plots treated alike"),
    "total": say("in all"),
}
ANSWERS = {
    "holds": say("holds"),
    "doubtful": say("doubtful"),
    "fails": say("fails"),
    "not tested": say("not tested"),
}


def layout_page(trial: Trial, garden: Garden, seen: Sequence[str], on: date | None = None) -> Page:
    """Return the sheet to lay a trial out by.

    Parameters
    ----------
    seen : what the trial can see, in sentences.
    """
    steps: list[Line] = [
        say(
            "Mark every plot with a stake and its number before anything is spread. The lots have been drawn: keep to them."
        ),
        say(
            "Where the ground slopes, shades or changes, let each block lie on one kind of ground and the blocks differ."
        ),
        say("Treat all plots alike in everything else: same plants, same sowing day, same water."),
        say(
            "Leave the strips between plots untreated, and measure the inner part of each plot where roots could reach over."
        ),
        say(
            "Write each reading with its day into trials/{name}.csv; if a plot is lost, say why in the column “lost”.",
            name=Verbatim(trial.trial.name),
        ),
    ]
    sections = [
        Section(
            say("Where each treatment goes"), "map", [Figure(map_chart(trial, _bed_names(garden))), _treatments(trial)]
        ),
        Section(say("How to go about it"), "steps", [Items(steps)]),
        Section(say("What it can see"), "power", [Items(list(seen))]),
    ]
    return _page(trial, garden, say("Lay-out of a trial"), sections, on)


def trial_page(found: Analysis, told: Conclusion, garden: Garden, on: date | None = None) -> Page:
    """Return the sheet of an analysed trial."""
    first: list[Block] = [Para(told.lines[0], "lead")]
    first += [Items(list(told.lines[1:]))] if len(told.lines) > 1 else []
    first += [Notice(one) for one in told.findings]
    pictures: list[Block] = [Figure(readings_chart(found))] if found.frame.plots else []
    pictures += [Figure(effects_chart(found))] if found.effects else []
    sections = [Section(say("What it shows"), "shows", [*first, *pictures])]
    if found.table:
        sections.append(Section(say("Analysis"), "analysis", _analysis(found), fresh=True))
    sections.append(
        Section(
            say("Lay-out"),
            "map",
            [Figure(map_chart(found.trial, _bed_names(garden))), _treatments(found.trial)],
            fit=True,
        )
    )
    return _page(found.trial, garden, say("Trial"), sections, on, trial_ledger(found))


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
    title = Verbatim(head.question or head.name)  # a person's own words, though a word of the trade may be among them
    one, many = say("treatment"), say("treatments")
    foot = say(
        "{garden} · trial {name} · {day} · Loamery",
        garden=garden.info.name,
        name=Verbatim(head.name),
        day=day_text(day),
    )
    sheet = Sheet(
        kind=kind,
        title=title,
        lines=[
            say("{garden}. {first} to {last}.", garden=garden.info.name, first=day_text(head.starts), last=day_text(head.ends)),
            say(
                "{design}: {treatments}, {blocks}, {plots}. Sheet of {day}.",
                design=DESIGN_WORDS[head.design], treatments=plural(len(trial.treatments), one, many), blocks=_blocks(trial), plots=_plots(trial), day=day_text(day),
            ),
        ],
        banner=INVENTED if invented else "",
        day=day.isoformat(),
        foot=foot + say(" · invented") if invented else foot,
        sections=sections,
    )  # fmt: skip
    return Page(sheet, Follow(ledger or Ledger()))


def _blocks(trial: Trial) -> str:
    if trial.trial.design == "complete_blocks":
        return plural(trial.blocks, say("block"), say("blocks"))
    return plural(trial.blocks, say("repeat"), say("repeats"))


def _plots(trial: Trial) -> str:
    return plural(len(trial.plots), say("plot"), say("plots"))


def _treatments(trial: Trial) -> Table:
    looks = treatment_swatches(trial)
    rows: list[Sequence[Line]] = [
        (
            Say(looks[one.id].letters, strong=True),
            say("{name} (control)", name=one.name) if one.id == trial.trial.control else one.name,
            ", ".join(plot.id for plot in trial.plots if plot.treatment == one.id),
        )
        for one in trial.treatments
    ]
    return Table(
        say("Treatments and their plots"),
        (Column("", wide=0.4), Column(say("Treatment"), wide=2.0), Column(say("Plots"), wide=2.6)),
        rows,
    )


def _analysis(found: Analysis) -> list[Block]:
    parts: list[Block] = [_differences(found), _means(found), _variance(found), _checks(found)]
    spread = say(
        "{sd} {unit}, {share} of the mean",
        sd=number(found.sd, 2),
        unit=found.frame.unit,
        share=f"{number(100 * found.cv, 2)}{NBSP}%",
    )
    lines: list[Line] = [
        (say("Plots treated alike spread by "), Say(spread, "spread"), say(", inside a block.")),
        *_further(found),
    ]
    return [*parts, Items(lines)]


def _further(found: Analysis) -> Iterator[str]:
    """Return what else was reckoned, in sentences: the worth of blocks, the mixed model, ranks."""
    if found.block_gain is not None:
        yield say(
            "A plot in blocks was worth {count} plots without them (relative efficiency).",
            count=number(found.block_gain, 3),
        )
    if (mixed := found.mixed) is not None:
        block, plot = number(mixed.block_sd, 3), number(mixed.plot_sd, 3)
        if mixed.sound:
            yield say(
                "With blocks as a draw from all blocks there might be (mixed model, restricted maximum likelihood): {block} between blocks, {plot} between plots.",
                block=block, plot=plot,
            )  # fmt: skip
        else:
            yield say(
                "With blocks as a draw from all blocks there might be (mixed model, restricted maximum likelihood): {block} between blocks, {plot} between plots; the fit lies on its border, blocks hardly differ.",
                block=block, plot=plot,
            )  # fmt: skip
    if (ranks := found.ranks) is not None:
        yield say(
            "By ranks: {test}, statistic {statistic}, p = {p}.",
            test=ranks.name,
            statistic=number(ranks.statistic, 3),
            p=number(ranks.p, 2),
        )


def _differences(found: Analysis) -> Table:
    """Return the differences that chart and conclusion speak of, the clearest where there are many."""
    name = found.trial.treatment
    clearest = sorted(found.effects, key=lambda one: one.p)[:MOST_PAIRS]
    rows: list[Sequence[Line]] = [
        (say("{treatment} less {reference}", treatment=name(one.treatment).name, reference=name(one.reference).name), Say(number(one.difference.median, 3), effect_trace(one)), range_text(one.difference),
         f"{number(one.percent.median, 2)}{NBSP}%", say("below 0.001") if one.p < 0.001 else f"{one.p:.3f}")
        for one in found.effects if one in clearest
    ]  # fmt: skip
    columns = (
        Column(say("Difference"), wide=2.4),
        Column(found.frame.unit, "right"),
        Column(say("90\u00a0% interval"), "right", wide=1.3),
        Column(say("Of the other"), "right"),
        Column(say("p, all together"), "right"),
    )
    left = len(found.effects) - len(rows)
    return Table(
        say("Differences"),
        columns,
        rows,
        say("The {count} clearest; {left} more stand in the chart's figures.", count=len(rows), left=left)
        if left
        else "",
    )


def _variance(found: Analysis) -> Table:
    rows = [_variance_row(one) for one in found.table]
    columns = (
        Column(say("Source"), wide=1.6),
        *(Column(one, "right") for one in (say("df"), say("Sum of squares"), say("Mean square"), "F", "p")),
    )
    return Table(say("Analysis of variance"), columns, rows, say("Each source is fitted after the other."))


def _variance_row(one: VarianceRow) -> tuple[Line, ...]:
    ratio = (
        ("", "")
        if one.f is None or one.p is None
        else (number(one.f, 3), number(one.p, 2) if one.p >= 1e-4 else say("below 0.0001"))
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
        Column(say("Treatment"), wide=2.0),
        Column(say("Mean, {unit}", unit=found.frame.unit), "right"),
        Column(say("90\u00a0% interval"), "right"),
    )
    return Table(say("Means, blocks evened out"), columns, rows)


def _checks(found: Analysis) -> Table:
    rows: list[Sequence[Line]] = [
        (
            ASSUMPTIONS[one.key],
            one.test,
            "" if one.p is None else number(one.p, 2),
            _answer(one),
        )
        for one in found.checks
    ]
    columns = (
        Column(say("Assumption"), wide=2.0),
        Column(say("Test"), wide=1.6),
        Column("p", "right", wide=0.6),
        Column(say("Answer"), wide=1.6),
    )
    note = say("Where one fails, ranks and drawing the lots again decide instead.") if found.method == "lots" else ""
    return Table(say("Assumptions"), columns, rows, note)


def _answer(one: Check) -> str:
    answer = ANSWERS[one.answer]
    return say("{answer}: {because}", answer=answer, because=one.because) if one.because else answer
