"""Charts of mulches and worm beds: depth against fines, the depth at which each fault begins, feed, warmth and castings by week."""

from __future__ import annotations

from typing import Any

from loamery.evidence.chart import Chart, make_chart
from loamery.evidence.palette import ACCENT, ACCENT_PALE, INK, MIST, WARN
from loamery.evidence.text import Units, share_text
from loamery.heap.mulch_limit import MulchLimit
from loamery.reference import coefficient
from loamery.season.worm_feeding import Feeding

WIDTH = 460
FAULTS = {"airless": "short of air", "heats": "heats", "seals": "keeps rain out"}
COLOURS = {"fine": MIST, "airless": "#3e3018", "heats": WARN, "seals": "#3f6790"}
LETTERS = {"fine": "fine", "airless": "air", "heats": "heat", "seals": "rain"}


def depth_chart(found: MulchLimit, units: Units) -> Chart:
    """Return what becomes of each mix at each depth: rows by share of fines, colours and words by fault."""
    import altair as alt

    unit = units.name("depth")
    depths = [f"{units.value(one, 'depth'):.2g}" for one in found.depths_m]
    rows: list[dict[str, Any]] = [
        {
            "mix": f"{share_text(row.fines)} fines ({share_text(row.chips)} chips)", "order": place, "depth": depth,
            "verdict": verdict, "word": LETTERS[verdict], "dark": verdict != "fine",
        }
        for place, row in enumerate(found.table)
        for depth, verdict in zip(depths, row.verdicts, strict=True)
    ]  # fmt: skip
    mixes = list(dict.fromkeys(one["mix"] for one in rows))
    base = alt.Chart(alt.Data(values=rows)).encode(
        x=alt.X("depth:N", sort=depths, axis=alt.Axis(title=f"depth of the layer, {unit}", labelAngle=0, orient="top")),
        y=alt.Y("mix:N", sort=mixes, axis=alt.Axis(title=None, labelLimit=200)),
    )
    fill = alt.Color("verdict:N", scale=alt.Scale(domain=list(COLOURS), range=list(COLOURS.values())), legend=None)
    squares = base.mark_rect(stroke="#ffffff", strokeWidth=2).encode(color=fill)
    ink = alt.condition("datum.dark", alt.value("#ffffff"), alt.value(INK))
    words = base.mark_text(fontSize=10).encode(text="word:N", color=ink)
    limit = units.amount(found.limit.median, "depth")
    return make_chart(
        alt.layer(squares, words), width=WIDTH - 110, height=34 * len(mixes), key="mulch-depth",
        title="How thick, by share of fines",
        alt=f"A table of colours: depth across, share of fines down. The material by itself may lie {limit} thick (median).",
        caption="What most runs say: fine, or the fault that comes: air (short of it for days), heat (it warms), rain (a heavy shower "
        "stands on it). Chips are by loose volume, fines by dry mass.",
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
        axis=alt.Axis(title=f"depth at which it begins, {units.name('depth')}", tickCount=6),
    )  # fmt: skip
    bars = base.mark_bar(color=ACCENT_PALE, height=14).encode(x=x, x2="high:Q")
    ticks = base.mark_tick(color=ACCENT, thickness=3, size=20).encode(x="median:Q")
    return make_chart(
        alt.layer(bars, ticks), width=WIDTH - 60, height=34 * len(rows), key="mulch-faults",
        title="Where each fault begins",
        alt="; ".join(f"{one['fault']} from {one['median']:.2g} {units.name('depth')}" for one in rows),
        caption=f"Mark: median; bar: 90 % band of {found.draws} runs. A mark at the right end means: not up to {units.amount(found.depths_m[-1], 'depth')}.",
        sources=(), data=tuple(rows),
    )  # fmt: skip


def feed_chart(found: Feeding, units: Units, key: str) -> Chart:
    """Return what a worm bed takes in each week, with its band."""
    low, median, high = found.course.feed_kg
    return _weeks(
        "feed", [float(one) for one in low], [float(one) for one in median], [float(one) for one in high], units, "mass",
        key=f"{key}-feed", title=f"What {found.name} takes a week",
        caption="Line: median; pale: 90 % band. It follows the warmth of the bed, the worms alive and the salt that gathers.",
    )  # fmt: skip


def castings_chart(found: Feeding, units: Units, key: str) -> Chart:
    """Return the castings made so far, dry, with their band."""
    low, median, high = found.forecast.castings_kg
    return _weeks(
        "castings", [float(one) for one in low], [float(one) for one in median], [float(one) for one in high], units, "mass",
        key=f"{key}-castings", title=f"Castings of {found.name} so far, dry",
        caption="Line: median; pale: 90 % band of worms' appetite, growth and yield.",
    )  # fmt: skip


def warmth_chart(found: Feeding, units: Units, key: str) -> Chart:
    """Return the warmest spot of the fresh feed in each week, beside the range in which worms work."""
    import altair as alt

    low, median, high = ([_temp(float(one), units) for one in row] for row in found.course.warmest_c)
    ends = [_temp(coefficient(name).value, units) for name in ("worm_temp_low", "worm_temp_high", "worm_temp_max")]
    unit = "°F" if units.system == "us" else "°C"
    rows = _rows(low, median, high)
    good = (
        alt.Chart(alt.Data(values=[{"from": ends[0], "to": ends[1]}]))
        .mark_rect(color=MIST)
        .encode(y="from:Q", y2="to:Q")
    )
    most = alt.Chart(alt.Data(values=[{"most": ends[2]}])).mark_rule(color=WARN, strokeDash=[5, 3]).encode(y="most:Q")
    return make_chart(
        alt.layer(good, *_band(rows, unit), most), width=WIDTH, height=150, key=f"{key}-warmth",
        title=f"Warmest spot of the feed in {found.name}",
        alt=f"A line with its band by week, at most {max(median):.0f} {unit} (median).",
        caption=f"Grey: the range in which worms work well; dashed: {ends[2]:.0f} {unit}, which they do not stand.",
        sources=(), data=tuple(rows),
    )  # fmt: skip


def _temp(temp_c: float, units: Units) -> float:
    return temp_c * 1.8 + 32.0 if units.system == "us" else temp_c


def _rows(low: list[float], median: list[float], high: list[float]) -> list[dict[str, Any]]:
    return [
        {"week": week, "low": a, "median": b, "high": c}
        for week, (a, b, c) in enumerate(zip(low, median, high, strict=True))
    ]


def _band(rows: list[dict[str, Any]], unit: str) -> tuple[Any, Any]:
    import altair as alt

    base = alt.Chart(alt.Data(values=rows)).encode(
        x=alt.X("week:Q", axis=alt.Axis(title="week", grid=False, tickMinStep=1), scale=alt.Scale(nice=False))
    )
    y = alt.Y("low:Q", axis=alt.Axis(title=unit, tickCount=5))
    line = base.mark_line(color=ACCENT, strokeWidth=2.2).encode(y="median:Q")
    return base.mark_area(color=ACCENT_PALE).encode(y=y, y2="high:Q"), line


def _weeks(
    word: str, low: list[float], median: list[float], high: list[float], units: Units, kind: str, **words: Any
) -> Chart:
    import altair as alt

    rows = _rows(*([units.value(one, kind) for one in row] for row in (low, median, high)))
    unit = units.name(kind)
    text = f"A line with its band by week: {word} {rows[0]['median']:.2g} {unit} at first, {rows[-1]['median']:.2g} {unit} at the end (median)."
    return make_chart(
        alt.layer(*_band(rows, unit)), width=WIDTH, height=150, alt=text, sources=(), data=tuple(rows), **words
    )
