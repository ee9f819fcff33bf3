"""Charts of mulches and worm beds: depth against fines, the depth at which each fault begins, feed, warmth and castings by week."""

from __future__ import annotations

from typing import Any

import numpy as np

from loamery.evidence.chart import Chart, make_chart
from loamery.evidence.palette import ACCENT, ACCENT_PALE, INK, MIST, WARN
from loamery.evidence.text import Units, share_text
from loamery.heap.mulch_limit import MulchLimit
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.season.worm_feeding import Feeding
from loamery.season.worm_single import DEPTHS_M

WIDTH = 460
DAYS_PER_WEEK = 7
RANGE_EDGE = "#b8c4b8"
SHOWN_M = (0.02, 0.05, 0.10, 0.20)
RISING = ("#6f96b8", "#d69a2d", "#c25a22", "#7a1a15")
"""Layers thin to thick, cool to burnt."""
FAULTS = {"airless": say("short of air"), "heats": say("heats"), "seals": say("keeps rain out")}
COLOURS = {"fine": MIST, "airless": "#3e3018", "heats": WARN, "seals": "#3f6790"}
WEEKLY_FEED, WEEKLY_CASTINGS = say("feed"), say("castings")
LETTERS = {"fine": say("fine"), "airless": say("air"), "heats": say("heat"), "seals": say("rain")}


def depth_chart(found: MulchLimit, units: Units) -> Chart:
    """Return what becomes of each mix at each depth: rows by share of fines, colours and words by fault."""
    import altair as alt

    unit = units.name("depth")
    depths = [f"{units.value(one, 'depth'):.2g}" for one in found.depths_m]
    rows: list[dict[str, Any]] = [
        {
            "mix": say("{fines} fines ({chips} chips)", fines=share_text(row.fines), chips=share_text(row.chips)), "order": place, "depth": depth,
            "verdict": verdict, "word": LETTERS[verdict], "dark": verdict != "fine",
        }
        for place, row in enumerate(found.table)
        for depth, verdict in zip(depths, row.verdicts, strict=True)
    ]  # fmt: skip
    mixes = list(dict.fromkeys(one["mix"] for one in rows))
    base = alt.Chart(alt.Data(values=rows)).encode(
        x=alt.X(
            "depth:N",
            sort=depths,
            axis=alt.Axis(title=say("depth of the layer, {unit}", unit=unit), labelAngle=0, orient="top"),
        ),
        y=alt.Y("mix:N", sort=mixes, axis=alt.Axis(title=None, labelLimit=200)),
    )
    fill = alt.Color("verdict:N", scale=alt.Scale(domain=list(COLOURS), range=list(COLOURS.values())), legend=None)
    squares = base.mark_rect(stroke="#ffffff", strokeWidth=2).encode(color=fill)
    ink = alt.condition("datum.dark", alt.value("#ffffff"), alt.value(INK))
    words = base.mark_text(fontSize=10).encode(text="word:N", color=ink)
    limit = units.amount(found.limit.median, "depth")
    return make_chart(
        alt.layer(squares, words), width=WIDTH - 110, height=34 * len(mixes), key="mulch-depth",
        title=say("How thick, by share of fines"),
        alt=say("A table of colours: depth across, share of fines down. The material by itself may lie {limit} thick (median).", limit=limit),
        caption=say("What most runs say: fine, or the fault that comes: air (short of it for days), heat (it warms), rain (a heavy shower "
        "stands on it). Chips are by loose volume, fines by dry mass."),
        sources=(), data=tuple(rows),
    )  # fmt: skip


def fault_chart(found: MulchLimit, units: Units) -> Chart:
    """Return the depth at which each fault begins, with its band."""
    import altair as alt

    top = units.value(found.depths_m[-1], "depth")
    rows: list[dict[str, Any]] = [
        {
            "fault": FAULTS[key], "low": units.value(one.low, "depth"), "median": units.value(one.median, "depth"),
            "high": units.value(one.high, "depth"),
        }
        for key, one in found.by_reason.items()
    ]  # fmt: skip
    base = alt.Chart(alt.Data(values=rows)).encode(y=alt.Y("fault:N", sort=None, axis=alt.Axis(title=None)))
    x = alt.X(
        "low:Q", scale=alt.Scale(domain=[0, top], nice=False),
        axis=alt.Axis(title=say("depth at which it begins, {unit}", unit=units.name("depth")), tickCount=6),
    )  # fmt: skip
    bars = base.mark_bar(color=ACCENT_PALE, height=14).encode(x=x, x2="high:Q")
    ticks = base.mark_tick(color=ACCENT, thickness=3, size=20).encode(x="median:Q")
    return make_chart(
        alt.layer(bars, ticks), width=WIDTH - 60, height=34 * len(rows), key="mulch-faults",
        title=say("Where each fault begins"),
        alt=joined("; ", (say("{fault} from {depth:.2g} {unit}", fault=one["fault"], depth=one["median"], unit=units.name("depth")) for one in rows)),
        caption=say("Mark: median; bar: 90 % band of {draws} runs. A mark at the right end means: not up to {depth}.", draws=found.draws, depth=units.amount(found.depths_m[-1], "depth")),
        sources=(), data=tuple(rows),
    )  # fmt: skip


def feed_chart(found: Feeding, units: Units, key: str) -> Chart:
    """Return what a worm bed takes in each week, with its band."""
    low, _, high = found.course.feed_kg
    return _weeks(
        WEEKLY_FEED, [float(one) for one in low], list(found.weekly_kg), [float(one) for one in high], units, "mass",
        key=f"{key}-feed", title=say("What {name} takes a week", name=found.name),
        caption=say("Line: the feed that keeps the bed in the range of the worms in most runs; pale: 90 % band of the greatest that a run "
        "stands. It follows the warmth of the bed, the worms alive, heat and salt that gather. Drops to zero: too much lies there already."),
    )  # fmt: skip


def castings_chart(found: Feeding, units: Units, key: str) -> Chart:
    """Return the castings made so far, dry, with their band."""
    low, median, high = found.forecast.castings_kg
    return _weeks(
        WEEKLY_CASTINGS, [float(one) for one in low], [float(one) for one in median], [float(one) for one in high], units, "mass",
        key=f"{key}-castings", title=say("Castings of {name} so far, dry", name=found.name),
        caption=say("Line: median; pale: 90 % band of worms' appetite, growth and yield."),
    )  # fmt: skip


def warmth_chart(found: Feeding, units: Units, key: str) -> Chart:
    """Return the temperature of the bed day by day beside the range in which worms work, with the feedings."""
    course, unit = found.course, _degrees(units)
    low, median, high = ([_temp(float(one), units) for one in row] for row in course.daily_c)
    spot = [_temp(float(one), units) for one in course.daily_warmest_c[1]]
    ends = [_temp(coefficient(name).value, units) for name in ("worm_temp_low", "worm_temp_high", "worm_temp_max")]
    return _in_range(
        found, (low, median, high), spot, (ends[0], ends[1]), ends[2], unit, key=f"{key}-warmth",
        title=say("Warmth of {name}", name=found.name),
        alt=say("A line with its band by week: the bed is {low:.0f} to {high:.0f} {unit} warm, its warmest spot up to {spot:.0f} {unit} (medians).", low=min(median), high=max(median), unit=unit, spot=max(spot)),
        caption=say("Line: mean of the bed, pale its 90 % band; thin line: its warmest spot (median). Grey: the range in which worms work well; "
        "dashed: {most:.0f} {unit}, which they do not stand. Marks below: feedings. Castings are taken out every {weeks:.0f} weeks.", most=ends[2], unit=unit, weeks=coefficient("worm_lead_weeks").value),
    )  # fmt: skip


def moisture_chart(found: Feeding, units: Units, key: str) -> Chart:
    """Return the moisture of the bed day by day beside the range in which worms work, with the feedings."""
    low, median, high = ([100.0 * float(one) for one in row] for row in found.course.daily_moisture)
    ends = [100.0 * coefficient(name).value for name in ("worm_moisture_low", "worm_moisture_high")]
    water = units.mass(float(found.course.water_kg.max()))
    return _in_range(
        found, (low, median, high), None, (ends[0], ends[1]), None, "%", key=f"{key}-moisture",
        title=say("Moisture of {name}", name=found.name),
        alt=say("A line with its band by week: {low:.0f} to {high:.0f} % (median).", low=min(median), high=max(median)),
        caption=say("Line: median of the whole bed; pale: 90 % band. Grey: the range in which worms work well. It is watered once a week, with at most {water}.", water=water),
    )  # fmt: skip


def _in_range(
    found: Feeding, band: tuple[list[float], list[float], list[float]], spot: list[float] | None,
    good: tuple[float, float], most: float | None, unit: str, **words: Any,
) -> Chart:  # fmt: skip
    import altair as alt

    course = found.course
    weeks = [float(day) / DAYS_PER_WEEK for day in course.day]
    rows = [
        {"week": week, "low": a, "median": b, "high": c, **({} if spot is None else {"spot": spot[i]})}
        for i, (week, a, b, c) in enumerate(zip(weeks, *band, strict=True))
    ]
    lowest = min(*band[0], good[0])
    mark = lowest - 0.06 * (max(*band[2], *(spot or ()), good[1], most or good[1]) - lowest)
    fed = [
        {"week": float(day) / DAYS_PER_WEEK, "at": mark}
        for day in course.fed_on
        if found.weekly_kg[int(day // DAYS_PER_WEEK)] > 0.0
    ]
    layers = [alt.Chart(alt.Data(values=[{"from": good[0], "to": good[1]}])).mark_rect(color=MIST, stroke=RANGE_EDGE, strokeWidth=1).encode(y="from:Q", y2="to:Q")]  # fmt: skip
    layers += _band(rows, unit, zero=False)
    if spot is not None:
        layers.append(alt.Chart(alt.Data(values=rows)).mark_line(color=WARN, strokeWidth=1.2).encode(x="week:Q", y="spot:Q"))  # fmt: skip
    if most is not None:
        layers.append(alt.Chart(alt.Data(values=[{"most": most}])).mark_rule(color=WARN, strokeDash=[5, 3]).encode(y="most:Q"))  # fmt: skip
    if fed:
        layers.append(alt.Chart(alt.Data(values=fed)).mark_tick(color=INK, thickness=2, size=7, orient="vertical").encode(x="week:Q", y="at:Q"))  # fmt: skip
    return make_chart(alt.layer(*layers), width=WIDTH, height=170, sources=(), data=tuple(rows), **words)


def single_chart(found: Feeding, units: Units, key: str) -> Chart:
    """Return the warmest spot of the bed after one feeding, by day, for layers thin to thick."""
    import altair as alt

    unit, single = _degrees(units), found.single
    shown = [i for i, depth in enumerate(DEPTHS_M) if depth in SHOWN_M]
    names = {i: units.amount(DEPTHS_M[i], "depth") for i in shown}
    rows: list[dict[str, Any]] = [
        {"day": float(day), "layer": names[i], "warmest": _temp(float(np.median(single.warmest_c[:, i, k])), units)}
        for i in shown
        for k, day in enumerate(single.day)
        if day >= 0.0
    ]
    base = alt.Chart(alt.Data(values=rows)).encode(
        x=alt.X("day:Q", axis=alt.Axis(title=say("days since the feeding"), grid=False), scale=alt.Scale(nice=False)),
        y=alt.Y("warmest:Q", axis=alt.Axis(title=unit, tickCount=5), scale=alt.Scale(zero=False)),
        color=alt.Color("layer:N", sort=list(names.values()), scale=alt.Scale(range=list(RISING)), legend=None),
    )
    ends = [{**next(row for row in reversed(rows) if row["layer"] == name)} for name in names.values()]
    for one in ends:
        one["warmest"] = max(row["warmest"] for row in rows if row["layer"] == one["layer"])
        one["day"] = next(
            row["day"] for row in rows if row["layer"] == one["layer"] and row["warmest"] == one["warmest"]
        )
    words = alt.Chart(alt.Data(values=ends)).mark_text(dy=-8, fontSize=10, color=INK).encode(x="day:Q", y="warmest:Q", text="layer:N")  # fmt: skip
    top = _temp(coefficient("worm_temp_max").value, units)
    most = alt.Chart(alt.Data(values=[{"most": top}])).mark_rule(color=WARN, strokeDash=[5, 3]).encode(y="most:Q")
    told = joined(
        "; ",
        (say("{layer}: {warmest:.0f} {unit}", layer=one["layer"], warmest=one["warmest"], unit=unit) for one in ends),
    )
    return make_chart(
        alt.layer(base.mark_line(strokeWidth=2), words, most), width=WIDTH, height=170, key=f"{key}-single",
        title=say("After one feeding: the warmest spot of {name}", name=found.name),
        alt=say("Lines by day for layers thin to thick; highest {told} (median).", told=told),
        caption=say("Medians, for layers of the feed as thick as written, on the bed in air of {air:.0f} {unit}, its warmest week. Dashed: {top:.0f} {unit}, which worms do not stand.", air=_temp(single.bed_c, units), unit=unit, top=top),
        sources=(), data=tuple(rows),
    )  # fmt: skip


def _degrees(units: Units) -> str:
    return "°F" if units.system == "us" else "°C"


def _temp(temp_c: float, units: Units) -> float:
    return temp_c * 1.8 + 32.0 if units.system == "us" else temp_c


def _rows(low: list[float], median: list[float], high: list[float]) -> list[dict[str, Any]]:
    return [
        {"week": week, "low": a, "median": b, "high": c}
        for week, (a, b, c) in enumerate(zip(low, median, high, strict=True))
    ]


def _band(rows: list[dict[str, Any]], unit: str, *, zero: bool = True) -> tuple[Any, Any]:
    import altair as alt

    base = alt.Chart(alt.Data(values=rows)).encode(
        x=alt.X("week:Q", axis=alt.Axis(title=say("week"), grid=False, tickMinStep=1), scale=alt.Scale(nice=False))
    )
    y = alt.Y("low:Q", axis=alt.Axis(title=unit, tickCount=5), scale=alt.Scale(zero=zero))
    line = base.mark_line(color=ACCENT, strokeWidth=2.2).encode(y="median:Q")
    return base.mark_area(color=ACCENT_PALE).encode(y=y, y2="high:Q"), line


def _weeks(
    word: str, low: list[float], median: list[float], high: list[float], units: Units, kind: str, **words: Any
) -> Chart:
    import altair as alt

    rows = _rows(*([units.value(one, kind) for one in row] for row in (low, median, high)))
    unit = units.name(kind)
    text = say(
        "A line with its band by week: {word} {first:.2g} {unit} at first, {last:.2g} {unit} at the end (median).",
        word=word, first=rows[0]["median"], last=rows[-1]["median"], unit=unit,
    )  # fmt: skip
    return make_chart(
        alt.layer(*_band(rows, unit)), width=WIDTH, height=150, alt=text, sources=(), data=tuple(rows), **words
    )
