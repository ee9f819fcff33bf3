"""Charts of how a plan holds, how it stands to the rules of the hand, and what would help it most."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from loamery.evidence.chart import Chart, Row, make_chart
from loamery.evidence.palette import ACCENT, ACCENT_SOFT, INK, MIST, SOFT, WARN
from loamery.evidence.text import share_text
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.season.agree import Agreement
from loamery.season.compare import Comparison
from loamery.season.compare import Row as Figures
from loamery.season.lab_tests import WorthOfTest
from loamery.season.sensitivity import Mover
from loamery.season.shadow import Spare
from loamery.uncertain import percentiles
from loamery.words import number

WIDTH, LABEL = 300, 250
MOST_MOVERS, MOST_TESTS = 8, 8


def _y(field: str, order: Sequence[str], *, two_lines: bool = False) -> Any:
    """Return the axis of names; on two lines, what stands before and after the colon."""
    import altair as alt

    split = {"labelExpr": "split(datum.label, ': ')", "labelLineHeight": 12} if two_lines else {}
    axis = alt.Axis(
        title=None, domain=False, ticks=False, labelColor=INK, labelLimit=LABEL, labelFontSize=11.5, **split
    )
    return alt.Y(f"{field}:N", sort=list(order), axis=axis)


def limits_chart(agreed: Agreement) -> Chart:
    """Return in how many of the fresh seasons each kind of limit is kept."""
    import altair as alt

    wanted = coefficient("limits_kept_share").value
    rows: list[Row] = [
        {"limit": SHORT_LIMITS.get(one.key, one.label), "kept": one.kept_share, "all": 1.0}
        for one in agreed.played.limits
    ]
    rows.append({"limit": say("all of them together"), "kept": agreed.played.holds_share, "all": 1.0})
    order = [str(one["limit"]) for one in rows]
    base = alt.Chart(alt.Data(values=rows))
    x = alt.Scale(domain=[0, 1])
    axis = alt.Axis(format="%", values=[0, 0.5, 0.9, 1.0], title=say("of the seasons drawn"), grid=False)
    colour = alt.condition(f"datum.kept >= {wanted - 1e-9}", alt.value(ACCENT), alt.value(WARN))
    layers = [
        base.mark_bar(color=MIST, height=12).encode(y=_y("limit", order), x=alt.X("all:Q", scale=x, axis=axis)),
        base.mark_bar(height=12).encode(y=_y("limit", order), x=alt.X("kept:Q", scale=x), color=colour),
        alt.Chart(alt.Data(values=[{"x": wanted}]))
        .mark_rule(color=INK, strokeWidth=1.6)
        .encode(x=alt.X("x:Q", scale=x)),
    ]
    worst = min(agreed.played.limits, key=lambda one: one.kept_share)
    return make_chart(
        alt.layer(*layers),
        width=WIDTH,
        height=alt.Step(19),
        key="limits-kept",
        title=say("In how many seasons each limit is kept"),
        alt=say(
            "Bars for each kind of limit; all together are kept in {share_text} of {n} seasons, least often: {worst}, {share_text2}.",
            share_text=share_text(agreed.played.holds_share),
            n=agreed.played.years.n,
            worst=worst.label,
            share_text2=share_text(worst.kept_share),
        ),
        caption=say(
            "Share of {n} freshly drawn seasons in which the limit is kept on every bed and heap. Black line: {share_text}, what is asked for. Rust: below it.",
            n=agreed.played.years.n,
            share_text=share_text(wanted),
        ),
        sources=(),
        data=tuple({key: value for key, value in one.items() if key != "all"} for one in rows),
    )


SHORT_LIMITS = {
    "supply": say("no more used than there is"),
    "heap_room": say("heaps hold their batches"),
    "in_time": say("compost there when it is spread"),
    "layer": say("depth of each mulch"),
    "standing": say("depth of all mulch"),
    "dug_in": say("amount worked in"),
    "ceiling_P": say("phosphorus of every bed"),
    "ceiling_K": say("potassium of every bed"),
    "ceiling_salt": say("salt of every bed"),
    "ceiling_trace": say("trace elements of every bed"),
    "hands": say("hours in every week"),
}


def short_chart(agreed: Agreement) -> Chart:
    """Return the nitrogen each bed is short of, as the plan reckons it and as the models find it."""
    import altair as alt

    from loamery.season.aims import need_scale

    problem, solution = agreed.solved.problem, agreed.solved.solution
    plan = solution.short_n.mean(axis=(0, 2)) / need_scale(problem, "N")
    low, middle, high = percentiles(agreed.played.outcome.by_bed, axis=0)
    rows: list[Row] = [
        {
            "bed": need.bed.name, "plan": float(plan[bed]), "models": float(middle[bed]), "low": float(low[bed]),
            "high": float(high[bed]),
        }
        for bed, need in enumerate(problem.needs)
    ]  # fmt: skip
    order = [str(one["bed"]) for one in sorted(rows, key=lambda one: -float(str(one["models"])))]
    base = alt.Chart(alt.Data(values=rows))
    most = max(0.05, *(float(str(one["high"])) for one in rows), *(float(one) for one in plan))
    scale = alt.Scale(domain=[0, 1.03 * most], nice=False)
    axis = alt.Axis(format="%", tickCount=5, title=say("of the nitrogen needed, mean over the season"), grid=True)
    layers = [
        base.mark_rule(color=ACCENT_SOFT, strokeWidth=5, opacity=0.6).encode(
            y=_y("bed", order), x=alt.X("low:Q", scale=scale, axis=axis), x2="high"
        ),
        base.mark_point(filled=True, size=70, color=ACCENT, opacity=1).encode(
            y=_y("bed", order), x=alt.X("models:Q", scale=scale)
        ),
        base.mark_tick(thickness=3, size=15, color=INK, opacity=1).encode(
            y=_y("bed", order), x=alt.X("plan:Q", scale=scale)
        ),
    ]
    worst = order[0] if order else say("none")
    return make_chart(
        alt.layer(*layers),
        width=WIDTH,
        height=alt.Step(19),
        key="short-by-bed",
        title=say("Nitrogen short on each bed: the plan and the models"),
        alt=say(
            "For each bed a dot with its band by the models, and a mark by the plan; most is short on {worst}.",
            worst=worst,
        ),
        caption=say(
            "Dot and pale bar: by the models of heap and bed, median and 90 % band over the seasons. Black mark: what the plan reckons with."
        ),
        sources=(),
        data=tuple(rows),
    )


SHOWN = ("short_n", "short_p", "short_k", "cover", "hours", "money", "diverted_kg", "spare_n")
SIDE_COLOURS = (ACCENT, "#c7812c", "#7d94a4")


def sides_chart(found: Comparison, key: str, currency: str) -> Chart:
    """Return the figures of plans side by side, one small panel for each figure, with bands."""
    import altair as alt

    rows: list[Row] = []
    panels = []
    labels = [one.label for one in found.sides]
    shown = [one for one in found.rows if one.measure.key in SHOWN]
    for figures in shown:
        mine = _side_rows(figures, labels, currency)
        rows += mine
        panels.append(_panel(mine, labels))
    told = joined("; ", (_told_figure(one, labels) for one in shown[:3]))
    return make_chart(
        alt.concat(*panels, columns=2, spacing={"row": 14, "column": 26}),
        width=0,
        height=0,
        key=key,
        title=found.question,
        alt=say("Bars for {labels} plans, figure by figure. {told}.", labels=len(labels), told=told),
        caption=say("Bar: median over the seasons drawn, the same for all. Thin line: 90 % band."),
        sources=(),
        data=tuple(rows),
    )


def _told_figure(one: Figures, labels: Sequence[str]) -> str:
    sides = zip(labels, one.bands, strict=True)
    found = joined(", ", (say("{label} {value}", label=label, value=number(band.median, 2)) for label, band in sides))
    return say("{figure}: {found}", figure=one.measure.label, found=found)


def _side_rows(figures: Figures, labels: Sequence[str], currency: str) -> list[Row]:
    unit = figures.measure.unit or currency
    return [
        {
            "figure": joined(", ", (figures.measure.label, unit)), "plan": label, "median": band.median, "low": band.low, "high": band.high,
            "better": "less" if figures.measure.better < 0 else "more",
        }
        for label, band in zip(labels, figures.bands, strict=True)
    ]  # fmt: skip


def _panel(rows: Sequence[Row], labels: Sequence[str]) -> Any:
    import altair as alt

    base = alt.Chart(alt.Data(values=list(rows)))
    colour = alt.Color(
        "plan:N", scale=alt.Scale(domain=list(labels), range=list(SIDE_COLOURS[: len(labels)])), legend=None
    )
    y = alt.Y(
        "plan:N",
        sort=list(labels),
        axis=alt.Axis(title=None, domain=False, ticks=False, labelColor=INK, labelLimit=170),
    )
    most = max(max(float(str(one["high"])) for one in rows), 1e-6)
    scale = alt.Scale(domain=[0, 1.04 * most], nice=False)
    axis = alt.Axis(tickCount=4, title=None, grid=False)
    figure = rows[0]["figure"]
    title = alt.TitleParams(
        say("{figure} (less is better)", figure=figure)
        if rows[0]["better"] == "less"
        else say("{figure} (more is better)", figure=figure),
        fontSize=11,
        color=SOFT,
        fontWeight="normal",
    )
    bars = base.mark_bar(height=11).encode(y=y, x=alt.X("median:Q", scale=scale, axis=axis), color=colour)
    line = base.mark_rule(color=INK, strokeWidth=1.4).encode(y=y, x=alt.X("low:Q", scale=scale), x2="high")
    return alt.layer(bars, line).properties(width=170, height=alt.Step(16), title=title)


def movers_chart(
    found: Sequence[Mover],
    about: str,
    ends: tuple[str, str] = (say("less short"), say("more short")),
    *,
    good: bool = False,
) -> Chart:
    """Return what moves a figure of the outcome, the strongest first; ends say what left and right mean, good whether right is."""
    import altair as alt

    rows: list[Row] = [
        {"what": one.name, "kind": one.kind, "rank": one.rank, "low": one.low, "high": one.high}
        for one in found[:MOST_MOVERS]
    ]
    order = [str(one["what"]) for one in rows]
    base = alt.Chart(alt.Data(values=rows))
    scale = alt.Scale(domain=[-1, 1])
    axis = alt.Axis(
        values=[-1, -0.5, 0, 0.5, 1],
        title=say("‹ {ends}   rank correlation   {ends2} ›", ends=ends[0], ends2=ends[1]),
        grid=True,
    )
    colour = alt.condition("datum.rank < 0" if good else "datum.rank > 0", alt.value(WARN), alt.value(ACCENT))
    layers = [
        base.mark_bar(height=11).encode(y=_y("what", order), x=alt.X("rank:Q", scale=scale, axis=axis), color=colour),
        base.mark_rule(color=INK, strokeWidth=1.2).encode(
            y=_y("what", order), x=alt.X("low:Q", scale=scale), x2="high"
        ),
    ]
    first = say("strongest is {name}", name=order[0]) if order else say("nothing moves it")
    return make_chart(
        alt.layer(*layers),
        width=WIDTH - 40,
        height=alt.Step(18),
        key="movers",
        title=say("What moves it: {about}", about=about),
        alt=say("Bars of rank correlation; {first}.", first=first),
        caption=say(
            "Over the seasons drawn: to the left, more of it goes with less {about}; to the right, with more. Thin line: 90 % interval; one that crosses the middle may be chance.",
            about=about,
        ),
        sources=(),
        data=tuple(rows),
    )


def spares_chart(found: Sequence[Spare]) -> Chart:
    """Return what one more of this or that would spare, in harvest."""
    import altair as alt

    rows: list[Row] = [
        {
            "step": one.brief,
            "harvest_kg": one.harvest_kg,
            "by_price_kg": one.harvest_kg * one.price / one.spares if one.spares else 0.0,
        }
        for one in found
    ]
    order = [str(one["step"]) for one in rows]
    base = alt.Chart(alt.Data(values=rows))
    bars = base.mark_bar(color=ACCENT, height=11).encode(
        y=_y("step", order), x=alt.X("harvest_kg:Q", axis=alt.Axis(tickCount=4, title=say("kg of harvest"), grid=True))
    )
    return make_chart(
        bars,
        width=WIDTH - 40,
        height=alt.Step(18),
        key="spares",
        title=say("What one more of it would spare"),
        alt=say("Bars in kg of harvest: ")
        + joined(
            "; ", (say("{step} {harvest_kg}", step=one.step, harvest_kg=number(one.harvest_kg, 2)) for one in found[:4])
        )
        + ".",
        caption=say(
            "{how}, heaps held as planned; harvest is reckoned on a straight line from nothing short to nothing harvested.",
            how=_how(found),
        ),
        sources=(),
        data=tuple(rows),
    )


def _how(found: Sequence[Spare]) -> str:
    """Return how what is spared was found out: by the price of the programme alone, or by solving again."""
    priced = all(one.spares == one.price for one in found)
    return say("By the price the solved programme puts on it") if priced else say("Solved again with one more of it")


def _short_test(one: WorthOfTest) -> str:
    """Return the name of a test without what stands in brackets or after a comma, to fit beside a bar."""
    return re.split(r"[,(:;]", one.test.name)[0].strip().lower()


def tests_chart(found: Sequence[WorthOfTest], currency: str) -> Chart:
    """Return what each test is worth beside its price."""
    import altair as alt

    shown = [one for one in found if one.worth.value > 0.0][:MOST_TESTS]
    rows: list[Row] = [
        {
            "test": say("{about}: {test}", about=one.test.about_name, test=_short_test(one)), "worth": one.worth.value,
            "low": max(one.worth.value - 1.645 * one.worth.error, 0.0), "high": one.worth.value + 1.645 * one.worth.error,
            "price": one.test.price,
        }
        for one in shown
    ]  # fmt: skip
    order = [str(one["test"]) for one in rows]
    base = alt.Chart(alt.Data(values=rows))
    y = _y("test", order, two_lines=True)
    axis = alt.Axis(tickCount=5, title=currency, grid=True)
    layers = [
        base.mark_bar(color=ACCENT, height=13).encode(y=y, x=alt.X("worth:Q", axis=axis)),
        base.mark_rule(color=INK, strokeWidth=1.2).encode(y=y, x="low:Q", x2="high"),
        base.mark_tick(thickness=3, size=18, color=WARN, opacity=1).encode(y=y, x="price:Q"),
    ]
    told = joined("; ", (_told_test(one) for one in rows[:3]))
    return make_chart(
        alt.layer(*layers),
        width=WIDTH - 40,
        height=alt.Step(30),
        key="tests-next",
        title=say("Which test next: worth and price"),
        alt=say(
            "Bars of what a test is worth to this plan in {currency}, with its price: {what}.",
            currency=currency,
            what=told or say("none is worth telling"),
        ),
        caption=say(
            "Bar: what knowing the answer before planning is worth, with its 90 % interval. Rust mark: the price. A test pays where the bar passes the mark."
        ),
        sources=tuple(dict.fromkeys(one.test.source for one in shown)),
        data=tuple(rows),
    )


def _told_test(one: Row) -> str:
    worth, price = (number(float(str(one[key])), 2) for key in ("worth", "price"))
    return say("{test} worth {worth}, price {price}", test=one["test"], worth=worth, price=price)
