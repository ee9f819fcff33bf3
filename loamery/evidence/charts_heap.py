"""Charts of a heap: temperature and oxygen by depth and day, its warmest part with the band, and thermometer readings."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.evidence.chart import Chart, Row, make_chart
from loamery.evidence.palette import ACCENT, ACCENT_PALE, INK, WARN
from loamery.evidence.text import Units, short_day
from loamery.heap.forecast import Forecast
from loamery.heap.readings import Reading
from loamery.reference import coefficient
from loamery.say import say
from loamery.units import System
from loamery.words import number

Array = NDArray[np.float64]
HOT_C = 55.0
"""The line that the rules of hygiene draw."""
OVERLAP = 0.15
"""Squares reach a little under the row below, so that no paper shines through between them; likewise to the right."""
TEMP_ENDS, OXYGEN_ENDS = (0.0, 75.0), (0.0, 21.0)
HEAT_COLOURS = ("#2c4a7c", "#6f96b8", "#dfe6d8", "#f0c067", "#d9702e", "#8c1d18")
OXYGEN_COLOURS = ("#4a2a12", "#a8713a", "#e9dcc0", "#a9cfc4", "#1d6a57")


@dataclass(frozen=True)
class Look:
    """How large a picture is drawn, in how many squares at most, days between rows of its data, words in it or not."""

    width: int
    height: int
    columns: int
    rows: int
    every: float
    words: bool


LARGE, SMALL = Look(460, 190, 120, 28, 1.0, words=True), Look(290, 120, 60, 14, 3.0, words=False)


def heat_picture(
    told: Forecast, units: Units, *, look: Look = LARGE, key: str = "heap-heat", title: str = say("Temperature by depth and day")
) -> Chart:  # fmt: skip
    """Return temperature by depth and day as a picture, with the line of 55 °C."""
    values = _shown_temp(told.run.temp_c[:, ::-1], units.system)
    low, high = (float(_shown_temp(np.array(one), units.system)) for one in TEMP_ENDS)
    line, unit = float(_shown_temp(np.array(HOT_C), units.system)), "°F" if units.system == "us" else "°C"
    warmest = float(told.run.temp_c.max())
    most = number(float(_shown_temp(np.array(warmest), units.system)), 2)
    hot = say("The dark line encloses what is at") if warmest >= HOT_C else say("Nothing reaches")
    return _picture(
        told, units, values, (low, high), HEAT_COLOURS, line, say("temperature, {unit}", unit=unit), look,
        key=key,
        title=title,
        alt=say("A picture of the heap over {days:.0f} days, surface above, middle below. It reaches {most} {unit} in its warmest part (run with everything at its middle).",
                days=float(told.day[-1]), most=most, unit=unit),
        caption=say("Surface at the top, middle at the bottom; the run with everything at its middle. {hot} {line} {unit} or more, which the rules of hygiene ask for. Depths are those of the heap as built.",
                    hot=hot, line=number(line), unit=unit),
    )  # fmt: skip


def oxygen_picture(told: Forecast, units: Units) -> Chart:
    """Return oxygen by depth and day as a picture, with the line below which a heap is short of air."""
    low = 100.0 * coefficient("heap_low_oxygen").value
    return _picture(
        told, units, 100.0 * told.run.o2_frac[:, ::-1], OXYGEN_ENDS, OXYGEN_COLOURS, low, say("oxygen, % of the air in the pores"), LARGE,
        key="heap-oxygen",
        title=say("Oxygen by depth and day"),
        alt=say("A picture of the heap over {days:.0f} days; least oxygen {least} % (run with everything at its middle).",
                days=float(told.day[-1]), least=number(100.0 * float(told.run.o2_frac.min()), 2)),
        caption=say("Surface at the top, middle at the bottom; the run with everything at its middle. The dark line encloses what is below {low:g} % and so short of air; fresh air holds 21 %.", low=low),
    )  # fmt: skip


def _shown_temp(values: Array, system: System) -> Array:
    return np.asarray(values * 1.8 + 32.0 if system == "us" else values)


def _picture(
    told: Forecast, units: Units, values: Array, ends: tuple[float, float], colours: Sequence[str], level: float, name: str,
    look: Look, **words: Any,
) -> Chart:  # fmt: skip
    import altair as alt

    days, depths = _edges(told, look)
    cells = _cells(told, values, days, depths, units)
    x = alt.X(
        "from:T", axis=alt.Axis(title=None, format="%-d %b", grid=False, tickCount=6), scale=alt.Scale(nice=False)
    )
    y = alt.Y(
        "top:Q", scale=alt.Scale(reverse=True, nice=False),
        axis=alt.Axis(title=say('depth below the surface, {name}', name=units.name('depth')), grid=False),
    )  # fmt: skip
    fill = alt.Color(
        "value:Q", scale=alt.Scale(domain=list(np.linspace(ends[0], ends[1], len(colours))), range=list(colours), clamp=True),
        legend=alt.Legend(title=name, orient="top", gradientLength=min(240, look.width - 50), gradientThickness=10, titleLimit=400),
    )  # fmt: skip
    squares = (
        alt.Chart(alt.Data(values=cells))
        .mark_rect(strokeWidth=0)
        .encode(x=x, x2="to:T", y=y, y2="bottom:Q", color=fill)
    )
    edges = alt.Chart(alt.Data(values=_border(cells, level))).mark_rule(color=INK, strokeWidth=1.6).encode(
        x=alt.X("x:T"), x2="x2:T", y=alt.Y("y:Q"), y2="y2:Q"
    )  # fmt: skip
    turns = [
        {"x": (told.plan.start + timedelta(days=round(one))).isoformat(), "word": say("turn")}
        for one in told.plan.turn_days
    ]
    marks = alt.Chart(alt.Data(values=turns))
    layers = [squares, edges]
    if turns:
        layers.append(marks.mark_rule(color="#ffffff", strokeDash=[4, 3], strokeWidth=1.4).encode(x=alt.X("x:T")))
    if turns and look.words:
        layers.append(marks.mark_text(color="#ffffff", align="left", dx=3, fontSize=10, baseline="top").encode(
            x=alt.X("x:T"), y=alt.value(look.height - 14), text="word:N"))  # fmt: skip
    return make_chart(
        alt.layer(*layers), width=look.width, height=look.height, sources=(), data=_rows(told, look.every), **words
    )


def _edges(told: Forecast, look: Look) -> tuple[Array, Array]:
    """Return borders of the columns, days, and of the rows, m below the surface."""
    columns = min(look.columns, int(told.day[-1]))
    return np.linspace(0.0, told.day[-1], columns + 1), np.linspace(0.0, float(told.depth_m[-1]), look.rows + 1)


def _cells(told: Forecast, values: Array, days: Array, depths: Array, units: Units) -> list[dict[str, Any]]:
    """Return the squares of a picture, column after column."""
    out = []
    middles, overlap = 0.5 * (depths[1:] + depths[:-1]), OVERLAP * float(depths[1])
    for column, (start, end) in enumerate(itertools.pairwise(days)):
        when = 0.5 * (start + end)
        profile = np.array([np.interp(when, told.day, values[:, i]) for i in range(values.shape[1])])
        for row, value in enumerate(np.interp(middles, told.depth_m, profile)):
            out.append(
                {
                    "column": column, "row": row, "value": round(float(value), 2),
                    "from": _moment(told, float(start)), "to": _moment(told, min(float(end + OVERLAP * (end - start)), float(days[-1]))),
                    "top": units.value(float(depths[row]), "depth"), "bottom": units.value(float(depths[row + 1] + (overlap if row + 2 < depths.size else 0.0)), "depth"),
                }
            )  # fmt: skip
    return out


def _moment(told: Forecast, day: float) -> str:
    whole = int(day)
    on = told.plan.start + timedelta(days=whole)
    minutes = round((day - whole) * 1440)
    return f"{on.isoformat()}T{min(minutes // 60, 23):02d}:{minutes % 60:02d}:00"


def _border(cells: Sequence[dict[str, Any]], level: float) -> list[dict[str, Any]]:
    """Return the edges between squares on either side of a level."""
    at = {(one["column"], one["row"]): one for one in cells}
    out = []
    for (column, row), one in at.items():
        right, below = at.get((column + 1, row)), at.get((column, row + 1))
        if right is not None and (one["value"] >= level) != (right["value"] >= level):
            out.append({"x": one["to"], "x2": one["to"], "y": one["top"], "y2": one["bottom"]})
        if below is not None and (one["value"] >= level) != (below["value"] >= level):
            out.append({"x": one["from"], "x2": one["to"], "y": one["bottom"], "y2": one["bottom"]})
    return out


def _rows(told: Forecast, every: float) -> tuple[Row, ...]:
    step = max(round(every / (told.day[1] - told.day[0])), 1)
    return tuple(
        {
            "date": (told.plan.start + timedelta(days=float(told.day[k]))).isoformat(),
            "depth_m": float(depth),
            "temp_c": float(told.temp_c[1, k, i]),
            "temp_low_c": float(told.temp_c[0, k, i]),
            "temp_high_c": float(told.temp_c[2, k, i]),
            "oxygen": float(told.o2_frac[1, k, i]),
            "moisture": float(told.moisture[1, k, i]),
        }
        for k in range(0, told.day.size, step)
        for i, depth in enumerate(told.depth_m)
    )


def warmest_chart(told: Forecast, units: Units, readings: Sequence[Reading] = ()) -> Chart:
    """Return the temperature of the warmest part with its band, the line of 55 °C, and the readings taken."""
    import altair as alt

    unit = "°F" if units.system == "us" else "°C"
    low, _, high = _shown_temp(told.totals["warmest_c"], units.system)
    middle = _shown_temp(told.run.hottest_c, units.system)
    rows: list[dict[str, Any]] = [
        {"on": _moment(told, float(day)), "low": float(a), "middle": float(b), "high": float(c)}
        for day, a, b, c in zip(told.day, low, middle, high, strict=True)
    ]
    line = float(_shown_temp(np.array(HOT_C), units.system))
    x = alt.X("on:T", axis=alt.Axis(title=None, format="%-d %b", grid=False, tickCount=6))
    base = alt.Chart(alt.Data(values=rows))
    layers = [
        base.mark_area(color=ACCENT_PALE).encode(
            x=x, y=alt.Y("low:Q", axis=alt.Axis(title=unit, tickCount=6)), y2="high:Q"
        ),
        base.mark_line(color=ACCENT, strokeWidth=2.2).encode(x=x, y="middle:Q"),
        alt.Chart(alt.Data(values=[{"y": line}]))
        .mark_rule(color=WARN, strokeDash=[5, 3], strokeWidth=1.5)
        .encode(y="y:Q"),
    ]
    if readings:
        dots = [
            {"on": _moment(told, one.day), "temp": float(_shown_temp(np.array(one.temp_c), units.system))}
            for one in readings
        ]
        layers.append(
            alt.Chart(alt.Data(values=dots)).mark_point(filled=True, color=INK, size=38).encode(x=x, y="temp:Q")
        )
    read = say(" Dots: readings, at whatever depth they were taken.") if readings else ""
    top = int(np.argmax(middle))
    return make_chart(
        alt.layer(*layers), width=LARGE.width, height=170,
        key="heap-warmest",
        title=say('The warmest part of the heap'),
        alt=say('A line with its band: at most {middle} {unit} on {short_day} (run with everything at its middle).', middle=number(float(middle[top]), 2), unit=unit, short_day=short_day(told.on(float(told.day[top])))),
        caption=say("Line: the run with everything at its middle, as in the pictures; pale: 90 % band of {draws} runs (materials, the model's numbers, weather; they wake up at different times). Dashed: {line} {unit}.{read}", draws=told.draws, line=number(line), unit=unit, read=read),
        sources=(),
        data=tuple(rows),
    )  # fmt: skip
