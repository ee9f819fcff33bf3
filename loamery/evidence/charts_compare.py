"""A material's plant food beside others and a bought fertiliser, on one scale."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from loamery.evidence.chart import Chart, make_chart
from loamery.evidence.palette import ACCENT, INK, LINE
from loamery.garden.model import Fertiliser
from loamery.lab.composition import Composition
from loamery.lab.published import own_published
from loamery.names import LABEL_TERMS, NUTRIENTS
from loamery.say import joined, say
from loamery.uncertain import percentiles
from loamery.units import to_compound
from loamery.words import NBSP, number

TERMS = {"N": ("N", ACCENT, -12), "P2O5": ("P", "#a2520c", 0), "K2O": ("K", "#5c1772", 12)}
"""Letter, colour and drop of each plant food; letters alone tell them apart."""
MOST_OTHERS, LEAST_PERCENT, ROW, SLIDE_ROW = 4, 0.01, 44, 36
"""Other materials shown, the lowest share shown in percent, height of a row in px, and on a slide."""
WIDTH, SLIDE_WIDTH = 225, 560
PUBLISHED = say("published of\u00a0its\u00a0kind")
WRAPPED = "split(replace(replace(datum.label, /(.{1,20})(?: |$)/g, '$1|'), /[|]$/, ''), '|')"
"""Parts the name of a row, in whatever language it is, into lines of 20 letters at spaces."""
FEW_DECADES = 2.6
"""On a longer scale only powers of ten are named, so that figures do not touch."""


def compare_chart(
    composition: Composition, name: str, others: Mapping[str, tuple[str, Composition]], bought: Fertiliser | None
) -> Chart:
    """Return N, P2O5 and K2O of a material, of others and of a fertiliser, % as received, on a logarithmic scale.

    Parameters
    ----------
    others : names and compositions by id; those nearest in nitrogen are shown.
    """
    rows = _rows(composition, name, others, bought)
    order = list(dict.fromkeys(one["what"] for one in rows))
    told = joined(", ", (joined(NBSP, (_figure(one), "%")) for one in rows if one["what"] == order[0]))
    others_told = joined("; ", (_told(rows, one) for one in order[1:]))
    words: dict[str, Any] = {
        "key": f"beside-{composition.material}", "title": say("{name} beside others", name=name),
        "alt": say("{name}: {figures}. Others: {others}.", name=name, figures=told, others=others_told),
        "caption": say("N: nitrogen, P: P₂O₅, K: K₂O, % as received. Line: 90\u00a0% band; of the first, what has been published of its kind. A bought fertiliser has no band: it is what the label says."),
        "sources": tuple(dict.fromkeys(key for term in NUTRIENTS if term in composition for key in composition[term].sources)),
        "data": tuple({**{key: one[key] for key in ("term", "middle", "low", "high")}, "what": str(one["what"]).replace(NBSP, " ")} for one in rows),
    }  # fmt: skip
    slide = _drawing(rows, order, SLIDE_WIDTH, SLIDE_ROW, words)
    return replace(_drawing(rows, order, WIDTH, ROW, words), slide=slide)


def _drawing(rows: list[dict[str, Any]], order: list[str], width: int, row: int, words: dict[str, Any]) -> Chart:
    """Return the picture in a width and a height of its rows, px."""
    import altair as alt

    axis = alt.Axis(
        title=None,
        ticks=False,
        domain=False,
        labelColor=INK,
        labelFontSize=12,
        labelLimit=150,
        labelExpr=WRAPPED,
    )
    y = alt.Y("what:N", sort=order, axis=axis)
    least = min(float(str(one["low"])) for one in rows)
    most = max(float(str(one["high"])) for one in rows)
    ends = max(0.6 * least, LEAST_PERCENT), 1.6 * most
    scale = alt.Scale(type="log", domain=list(ends), nice=False)
    few = np.log10(ends[1] / ends[0]) * WIDTH / width <= FEW_DECADES
    values = [step * one for one in (0.01, 0.1, 1.0, 10.0) for step in ((1, 3) if few else (1,)) if ends[0] <= step * one <= ends[1]]  # fmt: skip
    x = alt.X(
        "middle:Q",
        scale=scale,
        axis=alt.Axis(title=say("nitrogen N, P₂O₅ (P), K₂O (K), % as received"), values=values, format="~g"),
    )
    layers = [
        alt.Chart(alt.Data(values=[{"what": one} for one in some])).mark_bar(color=LINE, opacity=shade, height=row - 4).encode(y=y)
        for some, shade in ((order[:1], 0.6), (order[1:], 0.2))
    ]  # fmt: skip
    for term, (letter, colour, place) in TERMS.items():
        drop = place * row / ROW
        mine = alt.Chart(alt.Data(values=[one for one in rows if one["term"] == term]))
        layers.append(
            mine.mark_rule(strokeWidth=2.5, color=colour, yOffset=drop, opacity=0.5).encode(
                y=y, x=alt.X("low:Q", scale=scale), x2="high"
            )
        )
        halo = mine.mark_text(text=letter, fontSize=13, fontWeight="bold", stroke="#fdfdfb", strokeWidth=5, dy=drop)
        layers.append(halo.encode(y=y, x=x))
        layers.append(
            mine.mark_text(text=letter, fontSize=13, fontWeight="bold", color=colour, dy=drop).encode(y=y, x=x)
        )
    return make_chart(alt.layer(*layers), width=width, height=alt.Step(row), **words)


def _told(rows: list[dict[str, Any]], what: str) -> str:
    figures = joined(", ", (_figure(one) for one in rows if one["what"] == what))
    return joined(" ", (what, figures))


def _figure(row: dict[str, Any]) -> str:
    return joined(" ", (row["term"], number(float(row["middle"]), 2)))


def _rows(
    composition: Composition, name: str, others: Mapping[str, tuple[str, Composition]], bought: Fertiliser | None
) -> list[dict[str, Any]]:
    rows = [*_material(composition, name), *_published(composition)]
    shown = sorted(others.values(), key=lambda one: abs(np.log(_nitrogen(one[1]) / _nitrogen(composition))))[
        :MOST_OTHERS
    ]
    for other, its in sorted(shown, key=lambda one: -_nitrogen(one[1])):
        rows += _material(its, other)
    if bought is not None:
        label = {"N": bought.n_percent, "P2O5": bought.p2o5_percent, "K2O": bought.k2o_percent}
        rows += [
            {
                "what": say("{name} (bought)", name=bought.name),
                "term": term,
                "middle": value,
                "low": value,
                "high": value,
            }
            for term, value in label.items()
            if value > 0
        ]
    return rows


def _nitrogen(composition: Composition) -> float:
    return max(_percent(composition, "N")[1], LEAST_PERCENT) if "N" in composition else LEAST_PERCENT


def _percent(composition: Composition, key: str) -> tuple[float, float, float]:
    term = LABEL_TERMS[key]
    draws = (
        composition.draws(key)
        * (1.0 - composition.draws("moisture"))
        * (1.0 if term == key else to_compound(key, term))
        * 100.0
    )
    low, middle, high = percentiles(draws)
    return float(low), float(middle), float(high)


def _material(composition: Composition, name: str) -> list[dict[str, Any]]:
    rows = []
    for key in NUTRIENTS:
        if key in composition:
            low, middle, high = (max(one, LEAST_PERCENT) for one in _percent(composition, key))
            rows.append({"what": name, "term": LABEL_TERMS[key], "middle": middle, "low": low, "high": high})
    return rows


def _published(composition: Composition) -> list[dict[str, Any]]:
    """Return what has been published of this kind, dry figures brought to the moisture of this material."""
    dry, rows = 1.0 - float(np.median(composition.draws("moisture"))), []
    for key in NUTRIENTS:
        known = own_published(composition.kind, key)
        if known is None:
            continue
        term = LABEL_TERMS[key]
        factor = 100.0 * dry * (1.0 if term == key else to_compound(key, term))
        spread = known.distribution.band()
        low, high = min(known.low, spread.low), max(known.high, spread.high)
        ends = [max(factor * one, LEAST_PERCENT) for one in (low, spread.median, high)]
        rows.append({"what": PUBLISHED, "term": term, "middle": ends[1], "low": ends[0], "high": ends[2]})
    return rows
