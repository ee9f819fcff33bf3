"""Charts of a trial: the map of its plots to scale, what was read, and the differences with their intervals."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from loamery.evidence.chart import Chart, make_chart
from loamery.evidence.palette import ACCENT, INK, LINE, MIST, SOFT, Swatch, swatches
from loamery.finding import Band
from loamery.say import joined, say
from loamery.trials.analyse import Analysis, Effect
from loamery.trials.design import DESIGN_WORDS, Trial, TrialBed
from loamery.words import number, range_text

WIDTH = 620
HEAD_M = 0.55
"""Room above each bed on the map for its name, m at the map's scale."""
ROW, TALL_ROWS, LEAST_ROW = 62.0, 14, 26.0
"""Height of a treatment among the readings, px; beyond so many rows they are set closer, so that the chart stays on a page; but no closer than this."""
MEAN_DROP, SMALL_ROW = 20, 40.0
"""The mean of a treatment is drawn so far below its plots, px; rows lower than this bear smaller figures."""
MOST_PAIRS = 16
"""Differences drawn; the others stand in the figures beside the chart."""
LEAST_PX = 34.0
"""A plot narrower than this on the map cannot bear its number: long beds are then drawn in strips, one below the other."""
MOST_TOLD = 10
"""Treatments that a caption names; more stand in the table beside the map."""
LABEL_LETTERS = 20
"""Labels of treatments are broken into lines of about so many letters, so that a chart fits a phone."""


def treatment_swatches(trial: Trial) -> dict[str, Swatch]:
    """Return how each treatment is shown, lettered A, B, C and after Z AA, AB in the order of the trial."""
    looks = swatches([(one.id, one.name) for one in trial.treatments])
    return {key: replace(one, letters=_letters(at)) for at, (key, one) in enumerate(looks.items())}


def _letters(at: int) -> str:
    return chr(ord("A") + at) if at < 26 else _letters(at // 26 - 1) + chr(ord("A") + at % 26)


def map_chart(trial: Trial, bed_names: dict[str, str]) -> Chart:
    """Return the beds with their plots to scale, each in the colour and letters of its treatment."""
    import altair as alt

    looks, strips = treatment_swatches(trial), strips_of(trial)
    plots, beds = list(_plot_rows(trial, looks, strips)), list(_bed_rows(strips, bed_names))
    longest = max(one.length_m for one in strips)
    height_m = strips[-1].top_m + strips[-1].bed.width_m
    scale_px = WIDTH / longest
    x = alt.Scale(domain=[0.0, longest], nice=False)
    y = alt.Scale(domain=[0.0, height_m], nice=False, reverse=True)
    base, ground = alt.Chart(alt.Data(values=plots)), alt.Chart(alt.Data(values=beds))

    def box(chart: Any, **mark: Any) -> Any:
        return chart.mark_rect(**mark).encode(
            x=alt.X("x:Q", scale=x, axis=alt.Axis(title=say("metres along the bed") if len(strips) == len(trial.beds) else say("metres along the strip"), orient="bottom", grid=False, tickCount=6)),
            x2="x2", y=alt.Y("y:Q", scale=y, axis=None), y2="y2",
        )  # fmt: skip

    def words(chart: Any, text: str, y_at: str, **mark: Any) -> Any:
        return chart.mark_text(**mark).encode(x=alt.X("middle:Q", scale=x), y=alt.Y(f"{y_at}:Q", scale=y), text=text)

    layers = [
        box(ground, fill=MIST, stroke=SOFT, strokeWidth=1),
        box(base, stroke="#ffffff", strokeWidth=1).encode(color=alt.Color("colour:N", scale=None)),
        ground.mark_text(align="left", baseline="bottom", dy=-4, fontSize=12, fontWeight="bold").encode(
            x=alt.value(0), y=alt.Y("y:Q", scale=y), text="name:N"
        ),
        words(base, "letters:N", "upper", fontSize=15, fontWeight="bold").encode(color=alt.Color("ink:N", scale=None)),
        words(base, "plot:N", "lower", fontSize=11).encode(color=alt.Color("ink:N", scale=None)),
    ]
    told = joined(
        "; ", (say("{letters} {name}", letters=looks[one.id].letters, name=one.name) for one in trial.treatments)
    )
    key = told if len(trial.treatments) <= MOST_TOLD else say("those of the table")
    listed = "; ".join(f"{one.id} {looks[one.treatment].letters}" for one in trial.plots)
    return make_chart(
        alt.layer(*layers), width=WIDTH, height=height_m * scale_px, key=f"map-{trial.trial.name}",
        title=say("Plots, {design}", design=DESIGN_WORDS[trial.trial.design].lower()),
        alt=say("Map of {plots} plots on {beds} beds. {told}. Plots: {listed}.", plots=len(trial.plots), beds=len(trial.beds), told=told, listed=listed),
        caption=say("To scale. Number: block and place; letters: treatment ({key}). Drawn by lot with seed {seed}. ", key=key, seed=trial.trial.seed)
        + (say("Long beds are drawn in pieces, one below the other. ") if len(strips) > len(trial.beds) else "")
        + say("Grey: strips that get no treatment. Put a stake with the number on each plot before anything is spread."),
        sources=(), data=tuple(_map_csv(trial)), wide=True,
    )  # fmt: skip


@dataclass(frozen=True)
class Strip:
    """A stretch of a bed as it is drawn: from where to where along the bed, and how far down the map, m."""

    bed: TrialBed
    start_m: float
    end_m: float
    top_m: float

    @property
    def length_m(self) -> float:
        """Return its length, m."""
        return self.end_m - self.start_m


def strips_of(trial: Trial) -> list[Strip]:
    """Return the beds in stretches short enough that every plot bears its number, none cut through a plot."""
    shortest = min(one.length_m for one in trial.plots)
    most_m = WIDTH * shortest / LEAST_PX
    cuts = [(bed, *each) for bed in trial.beds for each in _cut(bed, trial, most_m)]
    longest = max(end - start for _, start, end in cuts)
    head_m = max(HEAD_M, 26.0 * longest / WIDTH)
    strips, at = [], 0.0
    for bed, start, end in cuts:
        at += head_m
        strips.append(Strip(bed, start, end, at))
        at += bed.width_m
    return strips


def _cut(bed: TrialBed, trial: Trial, most_m: float) -> Iterator[tuple[float, float]]:
    if bed.length_m <= most_m + 1e-9:
        yield 0.0, bed.length_m
        return
    start = 0.0
    for one in sorted((one for one in trial.plots if one.bed == bed.id), key=lambda one: one.x_m):
        if one.x_m > start and one.x_m + one.length_m - start > most_m + 1e-9:
            yield start, one.x_m
            start = one.x_m
    yield start, bed.length_m


def _bed_rows(strips: list[Strip], names: dict[str, str]) -> Iterator[dict[str, Any]]:
    for one in strips:
        size = say("{length} × {width} m", length=number(one.bed.length_m, 3), width=number(one.bed.width_m, 3))
        name = say("{bed}, {size}", bed=names.get(one.bed.id, one.bed.id), size=size)
        if one.length_m < one.bed.length_m - 1e-9:
            name = name + say(", from {start} m", start=number(one.start_m, 3))
        yield {"name": name, "x": 0.0, "x2": one.length_m, "y": one.top_m, "y2": one.top_m + one.bed.width_m}


def _plot_rows(trial: Trial, looks: dict[str, Swatch], strips: list[Strip]) -> Iterator[dict[str, Any]]:
    for one in trial.plots:
        look = looks[one.treatment]
        strip = next(s for s in strips if s.bed.id == one.bed and s.start_m - 1e-6 <= one.x_m < s.end_m)
        x, top = one.x_m - strip.start_m, strip.top_m
        yield {
            "plot": one.id, "letters": look.letters, "colour": look.colour, "ink": look.on_colour,
            "x": x, "x2": x + one.length_m, "y": top, "y2": top + one.width_m,
            "middle": x + one.length_m / 2, "upper": top + 0.36 * one.width_m, "lower": top + 0.72 * one.width_m,
        }  # fmt: skip


def _map_csv(trial: Trial) -> Iterator[dict[str, object]]:
    for one in trial.plots:
        yield {**one.model_dump(), "area_m2": one.area_m2}


def wrapped(text: str) -> str:
    """Return a label with marks where it breaks into lines."""
    return "|".join(textwrap.wrap(text, LABEL_LETTERS))


def _name_axis(field: str, order: list[str]) -> Any:
    import altair as alt

    axis = alt.Axis(
        title=None,
        ticks=False,
        domain=False,
        labelColor=INK,
        labelFontSize=12,
        labelLimit=150,
        labelExpr="split(datum.label, '|')",
    )
    return alt.Y(f"{field}:N", sort=order, axis=axis)


def readings_chart(found: Analysis) -> Chart:
    """Return every plot as the number of its block, and each treatment's mean with its 90 % interval."""
    import altair as alt

    trial, frame = found.trial, found.frame
    dots = _dots(found)
    step = max(min(ROW, ROW * TALL_ROWS / len(trial.treatments)), LEAST_ROW)
    means = [
        {"treatment": wrapped(trial.treatment(key).name), "mean": band.median, "low": band.low, "high": band.high}
        for key, band in zip(frame.keys, found.mean_bands, strict=False)
    ]
    y = _name_axis("treatment", [wrapped(one.name) for one in trial.treatments])
    close = alt.Scale(zero=False, padding=14)
    x = alt.X(
        "value:Q",
        title=say("{measured}, {unit}", measured=trial.trial.measured, unit=frame.unit),
        axis=alt.Axis(tickCount=5),
        scale=close,
    )
    middle = alt.Chart(alt.Data(values=means))
    layers = [
        middle.mark_rule(strokeWidth=9 * step / ROW, color=LINE, yOffset=MEAN_DROP * step / ROW).encode(
            y=y, x=alt.X("low:Q", scale=close), x2="high"
        ),
        middle.mark_tick(thickness=3, size=16 * step / ROW, color=INK, yOffset=MEAN_DROP * step / ROW).encode(
            y=y, x="mean:Q"
        ),
    ]
    rows = sorted({int(one["row"]) for one in dots})
    for row in rows:
        mine = alt.Chart(alt.Data(values=[one for one in dots if one["row"] == row]))
        drop = (34.0 * (row - rows[0] + 0.5) / len(rows) - 26.0) * step / ROW
        layers.append(
            mine.mark_text(fontSize=12 if step >= SMALL_ROW else 9, fontWeight="bold", dy=drop).encode(
                y=y, x=x, text="block:N", color=alt.Color("colour:N", scale=None)
            )
        )
    told = joined(
        "; ",
        (
            say("{treatment} {mean}", treatment=trial.treatment(key).name, mean=number(one.median, 3))
            for key, one in zip(frame.keys, found.mean_bands, strict=False)
        ),
    )
    return make_chart(
        alt.layer(*layers), width=250, height=alt.Step(step), key=f"readings-{trial.trial.name}",
        title=say("{measured} of every plot", measured=trial.trial.measured.capitalize()),
        alt=say("Means in {unit}: {told}.", unit=frame.unit, told=told) if told else say("{count} plots with readings; no means are given.", count=len(dots)),
        caption=say("Each figure is one plot and names its block. Black: mean of the treatment; grey: its 90\u00a0% interval."),
        sources=(), data=tuple({key: value for key, value in one.items() if key not in ("colour", "row")} for one in dots),
    )  # fmt: skip


def _dots(found: Analysis) -> list[dict[str, Any]]:
    """Return one row for each plot; `row` says how far down within its treatment it is written."""
    looks = treatment_swatches(found.trial)
    plots = {one.id: one for one in found.trial.plots}
    seen: dict[str, int] = {}
    out = []
    for plot, value in zip(found.frame.plots, found.frame.values, strict=True):
        one = plots[plot]
        seen[one.treatment] = seen.get(one.treatment, 0) + 1
        row = one.block if found.frame.blocked else seen[one.treatment]
        out.append(
            {"plot": plot, "block": str(row), "treatment": wrapped(looks[one.treatment].name), "value": float(value),
             "colour": _dark(looks[one.treatment].colour), "row": row}
        )  # fmt: skip
    return out


def _dark(colour: str) -> str:
    """Return a colour dark enough to read as a figure on white."""
    parts = [int(colour[at : at + 2], 16) for at in (1, 3, 5)]
    factor = min(1.0, 330.0 / max(sum(parts), 1))
    return "#" + "".join(f"{int(one * factor):02x}" for one in parts)


def _difference_text(one: Band) -> str:
    """Return a difference with its interval; what is nothing beside its interval is printed as 0."""
    nothing = abs(one.median) < 1e-9 * max(abs(one.low), abs(one.high))
    middle, interval = number(0.0 if nothing else one.median, 2), range_text(one)
    if one.median > 0 and not nothing:
        return say("+{middle}  ({interval})", middle=middle, interval=interval)
    return say("{middle}  ({interval})", middle=middle, interval=interval)


def _pair(found: Analysis, one: Effect) -> str:
    """Return a difference as the label of its line: what is compared, below it with what."""
    less = wrapped("less " + found.trial.treatment(one.reference).name).removeprefix("less")
    return joined("|", (wrapped(found.trial.treatment(one.treatment).name), say("less{treatment}", treatment=less)))


def _pair_text(found: Analysis, one: Effect) -> str:
    return say(
        "{treatment} less {reference}: {difference}",
        treatment=found.trial.treatment(one.treatment).name,
        reference=found.trial.treatment(one.reference).name,
        difference=_difference_text(one.difference),
    )


def effects_chart(found: Analysis) -> Chart:
    """Return each difference with its 90 % interval against the line of no difference."""
    import altair as alt

    told = {id(one) for one in found.found}
    rows = [
        {
            "pair": _pair(found, one),
            "difference": one.difference.median, "low": one.difference.low, "high": one.difference.high,
            "percent": one.percent.median, "p": one.p, "ink": ACCENT if id(one) in told else SOFT, "told": "apart" if id(one) in told else "not",
            "printed": _difference_text(one.difference),
        }
        for one in found.effects
    ]  # fmt: skip
    clearest = sorted(rows, key=lambda one: float(str(one["p"])))[:MOST_PAIRS]
    shown = [one for one in rows if one in clearest]
    clear = [one for one, row in zip(found.effects, rows, strict=True) if row in clearest]
    y = _name_axis("pair", [str(one["pair"]) for one in shown])
    base = alt.Chart(alt.Data(values=shown))
    colour = alt.Color("ink:N", scale=None)
    layers = [
        alt.Chart(alt.Data(values=[{"none": 0.0}])).mark_rule(color=INK, strokeDash=[4, 3]).encode(x=alt.X("none:Q")),
        base.mark_rule(strokeWidth=3).encode(y=y, x=alt.X("low:Q", title=say("difference in {measured}, {unit}", measured=found.trial.trial.measured, unit=found.frame.unit), axis=alt.Axis(tickCount=4)),
            x2="high", color=colour),
        base.mark_point(filled=True, size=90, opacity=1).encode(
            y=y, x="difference:Q", color=colour,
            shape=alt.Shape("told:N", scale=alt.Scale(domain=["apart", "not"], range=["circle", "diamond"]), legend=None),
        ),
        base.mark_text(dy=-18, fontSize=12, stroke="#fdfdfb", strokeWidth=4).encode(y=y, x="difference:Q", text="printed:N"),
        base.mark_text(dy=-18, fontSize=12).encode(y=y, x="difference:Q", text="printed:N", color=colour),
    ]  # fmt: skip
    return make_chart(
        alt.layer(*layers), width=240, height=alt.Step(56), key=f"differences-{found.trial.trial.name}",
        title=say("Differences between treatments"),
        alt=joined("; ", (_pair_text(found, one) for one in clear)) + f" {found.frame.unit}.",
        caption=say("Mark: difference; line: its own 90\u00a0% interval; dashed: no difference. Green and round: told apart from chance, all comparisons judged together; grey diamond: not told apart.")
        + (say(" The {count} clearest of {total} differences; the chart's figures hold all.", count=len(shown), total=len(rows)) if len(shown) < len(rows) else ""),
        sources=("HOTHORN08",), data=tuple({**{key: value for key, value in one.items() if key not in ("ink", "told", "printed")}, "pair": str(one["pair"]).replace("|", " ")} for one in rows),
    )  # fmt: skip
