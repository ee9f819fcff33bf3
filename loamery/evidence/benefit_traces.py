"""Where each figure of a benefit comes from: what went in, how it was reckoned, and on which published work it rests."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from loamery.benefit.account import DOC, Used, gases
from loamery.benefit.landfill import waste_type
from loamery.evidence.benefit_account import NUTRIENTS
from loamery.evidence.benefit_claims import LABEL, Account, Claim, claims_of
from loamery.evidence.text import Units
from loamery.finding import Input, Ledger, Trace
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.uncertain import band
from loamery.units import to_compound
from loamery.words import NBSP, number, quantity_text

EQUATIONS = {
    "mass": say("the weights of all free loads added up"),
    "methane": say(
        "sum over materials of: mass × DOC × DOCf × MCF × F × 16/12 × (1 − e^(−k × years)) × (1 − share "
        "caught) × (1 − share oxidised)"
    ),
    "net_co2e": say(
        "methane kept from the air × its warming − (methane and nitrous oxide of composting and spreading, "
        "each × its warming)"
    ),
    "gases_made": say(
        "mass composted × gas for each kg × its warming + nitrogen spread × share lost × 44/28 × its warming"
    ),
    "food_N": say("sum over uses of: mass × nitrogen that a kilogram gives the soil in its first season (bed model)"),
    "food_P": say("sum over uses of: mass × phosphorus × share usable in the first season × 2.29 (P to P₂O₅)"),
    "food_K": say("sum over uses of: mass × potassium × share usable in the first season × 1.20 (K to K₂O)"),
    "money": say("least sum of price × kg of the fertilisers on the list that gives at least the same N, P and K"),
}
FILLING = ("landfill_mcf", "methane_fraction", "landfill_oxidation", "landfill_years")
GIVING_OFF = ("gwp_ch4", "gwp_n2o", "compost_ch4", "compost_n2o", "soil_n2o_share")
"""Numbers of the account of gases that hold for every material."""
WHERE = {"records": "loads.csv", "plan": say("the plan")}


def claim_trace(key: str, donor: str = "") -> str:
    """Return the id of the trace of a claim, of one donor's material or of all."""
    return f"benefit/{key}/{donor}" if donor else f"benefit/{key}"


def gases_trace(account: Account, donor: str = "") -> str:
    """Return the id of the trace of what was saved after all, or of what was given off where nothing was avoided."""
    keys = [one.key for one in claims_of(account, donor)]
    return claim_trace(next(one for one in ("net_co2e", "gases_made") if one in keys), donor)


def benefit_ledger(account: Account) -> Ledger:
    """Return the traces of every claim of a garden, and of each of its donors."""
    ledger = Ledger()
    for donor in ("", *account.donors):
        whose = joined(", ", ("", account.garden.donor(donor).name)) if donor else ""
        for one in claims_of(account, donor):
            inputs = tuple(_inputs(account, one, donor))
            ledger.add(
                Trace(claim_trace(one.key, donor), one.what + whose, one.text, EQUATIONS[one.key], inputs, one.sources, one.rests_on)
            )  # fmt: skip
    return ledger


def _inputs(account: Account, claim: Claim, donor: str) -> Iterator[Input]:
    if claim.key == "mass":
        yield from _loads(account, donor)
    elif claim.key == "methane":
        yield from _buried(account, donor)
    elif claim.key in ("net_co2e", "gases_made"):
        yield from _given_off(account, claim, donor)
    elif claim.key == "money":
        yield from _bought(account, donor)
    else:
        yield from _held(account, claim.key.removeprefix("food_"), donor)


def _loads(account: Account, donor: str) -> Iterator[Input]:
    units, moved = Units(account.garden.info.units), account.gathered.moved
    for (who, what), kg in moved.free.items():
        if donor in ("", who):
            name = account.garden.material(what).name
            label = name if donor else joined(", ", (name, account.garden.donor(who).name))
            yield Input(label, units.mass(kg), WHERE[moved.basis])


def _buried(account: Account, donor: str) -> Iterator[Input]:
    """Yield the mass of each kind of waste and the numbers of its decay."""
    units, setting = Units(account.garden.info.units), account.setting
    masses: dict[str, float] = {}
    for at in account.gathered.of(donor):
        one = account.gathered.lots[at]
        if group := waste_type(one.kind):
            masses[group] = masses.get(group, 0.0) + one.kg
    for group, kg in masses.items():
        yield Input(
            say("Used, as waste of the kind “{group}”", group=group),
            units.mass(kg),
            say("what was spread, built and fed"),
        )
        for key in () if donor else (DOC[group], f"landfill_docf_{group}", f"landfill_k_{group}_{setting.zone}"):
            yield _number(key)
    if donor:
        yield Input(say("The numbers of its decay"), say("as for all material"), "", claim_trace("methane"))
        return
    for key in FILLING:
        yield _number(key)
    if setting.captured is None:
        yield _number("landfill_capture")
    else:
        yield Input(say("Share of landfill gas caught"), f"{100 * setting.captured:.0f}{NBSP}%", "--captured")
    yield Input(say("Share that would have gone to landfill"), f"{100 * setting.landfilled:.0f}{NBSP}%", "--landfilled")


def _given_off(account: Account, claim: Claim, donor: str) -> Iterator[Input]:
    units, setting = Units(account.garden.info.units), account.setting
    if claim.key == "net_co2e":
        kept = next(one for one in claims_of(account, donor) if one.key == "methane")
        yield Input(kept.what, kept.text, "", claim_trace("methane", donor))
    for at in account.gathered.of(donor):
        one = account.gathered.lots[at]
        made = band(gases(one, setting).made_kg, "kg")
        where = _what(account, one, units)
        yield Input(say("Given off as CO₂: {where}", where=where), say("{number}{NBSP}kg ({number_2} to {number_3})", number=number(made.median, 2), NBSP=NBSP, number_2=number(made.low, 2), number_3=number(made.high, 2)))  # fmt: skip
    if donor:
        # one donor's material may avoid nothing where that of all avoids something, so the whole bears another name
        yield Input(say("Warming, and gases for each kilogram"), say("as for all material"), "", gases_trace(account))
        return
    for key in GIVING_OFF:
        yield _number(key)


def _held(account: Account, key: str, donor: str) -> Iterator[Input]:
    """Yield what each use of each material gives of a nutrient."""
    units, (term, word) = Units(account.garden.info.units), LABEL[key]
    factor = 1.0 if term == key else to_compound(key, term)
    for at in account.gathered.of(donor):
        one = account.gathered.lots[at]
        gives = f"{number(factor * float(np.median(account.gathered.food[at][key])), 2)}{NBSP}kg"
        yield Input(_what(account, one, units), joined(" ", (gives, word)), say("composition of the material, and its use"))  # fmt: skip


def _bought(account: Account, donor: str) -> Iterator[Input]:
    mix, currency = account.mix(), account.garden.info.currency
    shop = {one.id: one for one in account.shop}
    for key, kg in mix.kg.items():
        price = quantity_text(shop[key].price_per_kg, currency, 2)
        yield Input(
            say("{name}, for all material", name=shop[key].name),
            say("{number}{NBSP}kg at {price} a kg", number=number(kg, 2), NBSP=NBSP, price=price),
            "fertilisers.csv",
        )
    for key in NUTRIENTS:
        claim = next(one for one in claims_of(account, donor) if one.key == f"food_{key}")
        more = (
            say("; one more kg of it would cost {amount}", amount=quantity_text(mix.worth[key], currency, 2))
            if donor
            else ""
        )
        yield Input(claim.what, claim.text + more, "", claim_trace(claim.key, donor))


def _number(key: str) -> Input:
    one = coefficient(key)
    unit = "" if one.unit in ("1", "") else f"{NBSP}{one.unit}"
    span = (
        say(" ({number} to {number_2})", number=number(one.low), number_2=number(one.high))
        if one.low != one.high
        else ""
    )
    return Input(one.description, joined("", (f"{number(one.value)}{unit}", span)), f"{key}, {one.source}")


def _what(account: Account, one: Used, units: Units) -> str:
    """Return a material, its use and its mass."""
    return joined(", ", (account.garden.material(one.material).name, one.use.replace("_", " "), units.mass(one.kg)))
