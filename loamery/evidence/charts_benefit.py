"""Charts of benefit: who gave how much and what became of it, and the climate account."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.benefit.account import sources_used
from loamery.evidence.benefit_claims import Account
from loamery.evidence.chart import Chart, make_chart
from loamery.evidence.charts_material import USE_COLOURS, use_words
from loamery.evidence.palette import ACCENT, INK, LINE, WARN
from loamery.evidence.text import Units
from loamery.say import joined, say
from loamery.uncertain import band
from loamery.words import NBSP, number

Array = NDArray[np.float64]
BROWN = "#8a5a2b"


def donors_chart(account: Account, donor: str = "") -> Chart:
    """Return the mass of each donor, or of each material of one donor, by what became of it."""
    import altair as alt

    units, rows = Units(account.garden.info.units), _mass_rows(account, donor)
    label = "material" if donor else "donor"
    order = list(dict.fromkeys(str(one[label]) for one in sorted(rows, key=lambda one: -float(str(one["total"])))))
    uses = [use_words(use) for use in ("mulch", "dig_in", "heap", "worm_bed", "kept")]
    colours = [USE_COLOURS[use] for use in ("mulch", "dig_in", "heap", "worm_bed", "kept")]
    shown = [at for at, use in enumerate(uses) if any(one["use"] == use for one in rows)]
    chart = alt.Chart(alt.Data(values=rows)).mark_bar(height=18, stroke="#ffffff", strokeWidth=0.6).encode(
        y=alt.Y(f"{label}:N", sort=order, axis=alt.Axis(title=None, ticks=False, domain=False, labelColor=INK, labelFontSize=12, labelLimit=150,
                labelExpr="split(datum.label, '|')")),
        x=alt.X("sum(amount):Q", title=units.name("mass"), axis=alt.Axis(tickCount=4)),
        color=alt.Color("use:N", scale=alt.Scale(domain=[uses[at] for at in shown], range=[colours[at] for at in shown]),
                        legend=alt.Legend(title=None, orient="top", columns=3, symbolSize=110)),
        order=alt.Order("rank:Q"),
    )  # fmt: skip
    total = account.gathered.collected_kg(donor)
    who = account.garden.donor(donor).name if donor else say("{count} donors", count=len(account.donors))
    return make_chart(
        chart, width=230, height=alt.Step(34), key=f"given-{donor}" if donor else "given",
        title=say("What was given, and what became of it"),
        alt=say("{mass} of free material from {who}, by use.", mass=units.mass(total), who=who),
        caption=say("Free material as received, and the use it was put to."),
        sources=(), data=tuple({key: one[key] for key in ("donor", "material", "use", "amount")} | {"unit": units.name("mass")} for one in rows),
    )  # fmt: skip


def _mass_rows(account: Account, donor: str) -> list[dict[str, Any]]:
    import textwrap

    units, garden = Units(account.garden.info.units), account.garden
    order = ("mulch", "dig_in", "heap", "worm_bed", "kept")
    rows = []
    for who, material in account.gathered.moved.free:
        if donor not in ("", who):
            continue
        by_use: dict[str, float] = {}
        for one in account.gathered.lots:
            if (one.donor, one.material) == (who, material):
                by_use[one.use] = by_use.get(one.use, 0.0) + one.kg
        given = account.gathered.moved.free[who, material]
        by_use["kept"] = max(given - sum(by_use.values()), 0.0)
        total = account.gathered.collected_kg(who) if not donor else given
        rows += [
            {"donor": "|".join(textwrap.wrap(garden.donor(who).name.replace(" (invented)", ""), 20)), "material": "|".join(textwrap.wrap(garden.material(material).name, 20)),
             "use": use_words(use), "amount": units.value(kg, "mass"), "rank": order.index(use), "total": total}
            for use, kg in by_use.items() if kg > 0.05
        ]  # fmt: skip
    return rows


def gases_chart(account: Account, donor: str = "") -> Chart:
    """Return the landfill gas avoided, the gases made, and what is saved after all, with their bands."""
    import altair as alt

    units, gas = Units(account.garden.info.units), account.gases(donor)
    unit, lots = units.name("mass"), [account.gathered.lots[at] for at in account.gathered.of(donor)]
    rows = [
        _gas_row(say("landfill gas|avoided"), gas.avoided_kg, units, ACCENT),
        _gas_row(say("given off by|composting"), -gas.made_kg, units, WARN),
        _gas_row(say("saved|after all"), gas.net_kg, units, INK),
    ]
    y = alt.Y("what:N", sort=[str(one["what"]) for one in rows], axis=alt.Axis(title=None, ticks=False, domain=False, labelColor=INK, labelFontSize=12,
              labelExpr="split(datum.label, '|')"))  # fmt: skip
    base, ink = alt.Chart(alt.Data(values=rows)), alt.Color("ink:N", scale=None)
    layers = [
        base.mark_bar(height=20, opacity=0.35).encode(y=y, x=alt.X("zero:Q", title=say("{unit} of CO₂", unit=unit), scale=alt.Scale(padding=16), axis=alt.Axis(tickCount=4)), x2="median", color=ink),
        base.mark_rule(strokeWidth=3).encode(y=y, x=alt.X("low:Q"), x2="high", color=ink),
        base.mark_point(filled=True, size=90, opacity=1).encode(y=y, x="median:Q", color=ink),
        base.mark_text(dy=-18, fontSize=12).encode(y=y, x="median:Q", text="printed:N", color=ink),
        alt.Chart(alt.Data(values=[{"none": 0.0}])).mark_rule(color=LINE).encode(x=alt.X("none:Q")),
    ]  # fmt: skip
    names = (say("landfill gas avoided"), say("given off by composting"), say("saved after all"))
    told = joined("; ", (joined(" ", (name, str(one["printed"]))) for name, one in zip(names, rows, strict=True)))
    return make_chart(
        alt.layer(*layers), width=250, height=alt.Step(58), key=f"gases-{donor}" if donor else "gases",
        title=say("Climate account"),
        alt=say("As {unit} of CO2: {told}.", unit=unit, told=told),
        caption=say("Dot: median; line: 90{NBSP}% band. Right of the line is good for the air. It holds only if the "
"material would have gone to landfill.", NBSP=NBSP),
        sources=sources_used(lots, account.setting),
        data=tuple({**{key: one[key] for key in ("median", "low", "high")}, "what": str(one["what"]).replace("|", " "), "unit": f"{unit} CO2"} for one in rows),
    )  # fmt: skip


def _gas_row(what: str, kg: Array, units: Units, ink: str) -> dict[str, Any]:
    found = band(kg)
    low, middle, high = (units.value(one, "mass") for one in (found.low, found.median, found.high))
    return {
        "what": what,
        "median": middle,
        "low": low,
        "high": high,
        "zero": 0.0,
        "ink": ink,
        "printed": number(middle, 2),
    }
