"""What may be said of the benefit of free material: every claim with what it rests on beside it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loamery.benefit.account import Gases, Setting, sources_used, together
from loamery.benefit.fertiliser import Bought, cheapest, cost_draws
from loamery.benefit.landfill import ZONE_WORDS, waste_type
from loamery.evidence.benefit_account import NUTRIENTS, Gathered
from loamery.evidence.text import Units, day_text
from loamery.finding import Band
from loamery.garden.model import Fertiliser, Garden
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.uncertain import band
from loamery.units import from_si, to_compound
from loamery.words import NBSP, number, quantity_text, range_text

Array = NDArray[np.float64]
LABEL = {"N": ("N", "N"), "P": ("P2O5", "P₂O₅"), "K": ("K2O", "K₂O")}
BASIS_WORDS = {
    "records": say("weighed and written down by the garden"),
    "plan": say("from the plan; nothing has been written down yet"),
}


@dataclass(frozen=True)
class Claim:
    """One thing that may be said.

    Parameters
    ----------
    what : in a few words. value : with its band, where it has one. text : value and band as people read them.
    rests_on : what it assumes; there is no claim without.
    """

    key: str
    what: str
    value: Band
    text: str
    rests_on: str
    sources: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.rests_on.strip():
            raise ValueError(f"claim “{self.key}” has no assumption beside it")

    def as_dict(self) -> dict[str, object]:
        """Return the claim ready for JSON."""
        return {
            "key": self.key,
            "what": self.what,
            **self.value.as_dict(),
            "text": self.text,
            "rests_on": self.rests_on,
            "sources": list(self.sources),
        }


@dataclass(frozen=True)
class Account:
    """A garden's benefit, whole; per donor by `claims_of`, which reckons each once and keeps it in `known`."""

    garden: Garden
    gathered: Gathered
    setting: Setting
    shop: tuple[Fertiliser, ...]
    known: dict[str, tuple[Claim, ...]] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def donors(self) -> list[str]:
        """Return who gave something free, the most first."""
        names = list(dict.fromkeys(who for who, _ in self.gathered.moved.free))
        return sorted(names, key=lambda one: -self.gathered.collected_kg(one))

    def gases(self, donor: str = "") -> Gases:
        """Return the climate account of a donor, or of all."""
        return together([self.gathered.lots[at] for at in self.gathered.of(donor)], self.setting)

    def mix(self) -> Bought:
        """Return the cheapest mix of fertilisers with the plant food of all material, at its medians."""
        return cheapest(_medians(self.gathered.total_food()), self.shop)


def claims_of(account: Account, donor: str = "") -> tuple[Claim, ...]:
    """Return what may be said of a donor's material, or of all; money only where the grower's prices are known."""
    if donor not in account.known:
        account.known[donor] = tuple(_claims(account, donor))
    return account.known[donor]


def _claims(account: Account, donor: str) -> list[Claim]:
    units = Units(account.garden.info.units)
    out = [_mass(account, donor, units)]
    if account.gathered.of(donor):
        out += [*_climate(account, donor, units), *_food(account, donor, units)]
        out += [_money(account, donor)] if account.shop else []
    return out


def _fixed(value: float, unit: str) -> Band:
    return Band(value, value, value, unit)


def _mass(account: Account, donor: str, units: Units) -> Claim:
    kg = account.gathered.collected_kg(donor)
    used = sum(account.gathered.lots[at].kg for at in account.gathered.of(donor))
    rest = (
        say(" {mass} of it is used so far; only that counts below.", mass=units.mass(used)) if used < 0.99 * kg else ""
    )
    return Claim(
        "mass", say("Free material taken"), _fixed(kg, "kg"), units.mass(kg), say("Masses as received, {basis}.{rest}", basis=BASIS_WORDS[account.gathered.moved.basis], rest=rest), ("PRACTICE",)
    )  # fmt: skip


def _climate(account: Account, donor: str, units: Units) -> list[Claim]:
    lots = [account.gathered.lots[at] for at in account.gathered.of(donor)]
    gas, setting = account.gases(donor), account.setting
    sources = sources_used(lots, setting)
    if not any(waste_type(one.kind) for one in lots):
        made = _mass_band(gas.made_kg, units)
        return [Claim("gases_made", say("Gases of composting and spreading, as CO₂"), band(gas.made_kg, "kg"), _told(made),
                      say("Nothing here would have gone to landfill, so no landfill gas is avoided; methane and nitrous oxide "
"by the IPCC's factors."), sources)]  # fmt: skip
    share = (
        say("all of it")
        if setting.landfilled == 1.0
        else say("{value:.0f}{NBSP}% of it", value=100 * setting.landfilled, NBSP=NBSP)
    )
    caught = coefficient("landfill_capture")
    capture = (
        say(
            "between {value:.0f} and {value_2:.0f}{NBSP}% of its gas caught",
            value=100 * caught.low,
            value_2=100 * caught.high,
            NBSP=NBSP,
        )
        if setting.captured is None
        else say("{value:.0f}{NBSP}% of its gas caught", value=100 * setting.captured, NBSP=NBSP)
    )
    never = any(not waste_type(one.kind) for one in lots)
    baseline = (
        say("That {share} would have gone to a managed landfill without air, with {capture}; decay of the zone "
"“{zone}”, counted over {value:.0f} years.", share=share, capture=capture, zone=ZONE_WORDS[setting.zone], value=coefficient('landfill_years').value) + (say(" Manure and compost would not have gone there and avoid nothing.") if never else "")
    )  # fmt: skip
    warming = say(
        "One kg of methane warms like {value:g} of CO₂ over 100 years, nitrous oxide like {value_2:g} (AR6).",
        value=coefficient("gwp_ch4").value,
        value_2=coefficient("gwp_n2o").value,
    )
    net = (
        say("{warming} Composting and spreading give off {told}, which is taken off. Left out: driving, the "
"making of the fertiliser that was not bought, carbon that stays in soil.", warming=warming, told=_told(_mass_band(gas.made_kg, units)))
    )  # fmt: skip
    return [
        Claim("methane", say("Landfill methane kept from the air"), band(gas.methane_kg, "kg"), _told(_mass_band(gas.methane_kg, units)), baseline, sources),
        Claim("net_co2e", say("Saved after all, as CO₂"), band(gas.net_kg, "kg"), _told(_mass_band(gas.net_kg, units)), net, sources),
    ]  # fmt: skip


def _food(account: Account, donor: str, units: Units) -> list[Claim]:
    out = []
    for key, draws in account.gathered.total_food(donor).items():
        term, word = LABEL[key]
        factor = 1.0 if term == key else to_compound(key, term)
        if float(np.median(draws)) <= 0.0:
            text: str = say("none this season") + (say(": it ties nitrogen up for a while") if key == "N" else "")
        else:
            text = _told(_mass_band(draws * factor, units))
        rests = say("What crops can use in the first season, by the bed model's release of each material; more follows in "
"later years.") if key == "N" else say("First-season worth of the total, by published shares.")  # fmt: skip
        out.append(
            Claim(
                f"food_{key}",
                say("Plant food, {word}", word=word),
                band(draws * factor, "kg"),
                text,
                rests,
                _food_sources(key),
            )
        )
    return out


def _food_sources(key: str) -> tuple[str, ...]:
    names = {"N": ("bed_biomass_cn", "q10", "decay_share_compost"), "P": ("p_availability",), "K": ("k_availability",)}
    return tuple(dict.fromkeys(coefficient(one).source for one in names[key]))


def _money(account: Account, donor: str) -> Claim:
    currency, food = account.garden.info.currency, account.gathered.total_food(donor)
    mix = account.mix()
    named = joined(
        ", ",
        [
            say(
                "{number}{NBSP}kg {lower}",
                number=number(kg, 2),
                NBSP=NBSP,
                lower=next(one.name for one in account.shop if one.id == key).lower(),
            )
            for key, kg in mix.kg.items()
        ],
    )
    lacking = (
        say(
            " Not priced, because nothing on the list holds it: {listed}.",
            listed=joined(", ", [LABEL[key][1] for key in mix.lacking]),
        )
        if mix.lacking
        else ""
    )
    if donor:
        costs = np.asarray(sum(food[key] * mix.worth[key] for key in NUTRIENTS))
        rests = say(
            "Its share of the cheapest mix of bought fertilisers with the same first-season plant food "
            "({named}), at the prices in fertilisers.csv.{lacking}",
            named=named,
            lacking=lacking,
        )
    else:
        costs = cost_draws(food, account.shop)
        paid = (
            say(
                " {number}{NBSP}{currency} was paid for material that was not free.",
                number=number(account.gathered.moved.spent, 3),
                NBSP=NBSP,
                currency=currency,
            )
            if account.gathered.moved.spent > 0
            else ""
        )
        rests = say(
            "The cheapest mix of bought fertilisers with the same first-season plant food: {value}, at the "
            "prices in fertilisers.csv.{lacking}{paid}",
            value=named or say("none needed"),
            lacking=lacking,
            paid=paid,
        )
    found = band(np.maximum(costs, 0.0), currency)
    text = _told(found)
    return Claim("money", say("Fertiliser that need not be bought"), found, text, rests, ("PRACTICE",))


def _medians(food: dict[str, Array]) -> dict[str, float]:
    return {key: float(np.median(draws)) for key, draws in food.items()}


def _mass_band(kg: Array, units: Units) -> Band:
    unit = units.name("mass")
    return band(kg, unit, float(from_si(1.0, unit)))


def _told(one: Band) -> str:
    return say("{middle} ({range})", middle=quantity_text(one.median, one.unit, 2), range=range_text(one))


def story(account: Account) -> list[str]:
    """Return the facts that go with the claims but are none: how it was gathered, and what to do to firm it up."""
    moved = account.gathered.moved
    lines: list[str] = [
        say(
            "Masses: {basis}, {first} to {last}.",
            basis=BASIS_WORDS[moved.basis],
            first=day_text(moved.first),
            last=day_text(moved.last),
        )
    ]
    if not account.shop:
        lines.append(
            say(
                "No money is named: write what fertilisers cost in your shop into fertilisers.csv of the garden folder."
            )
        )
    if moved.basis == "plan":
        lines.append(
            say(
                "These are hopes, not deeds: weigh each load and write it into loads.csv, and what you spread into "
                "applications.csv."
            )
        )
    distances = {one.id: one.distance_km for one in account.garden.donors}
    if moved.basis == "records":
        trips = [one for one in account.garden.loads if one.price_per_kg == 0]
        km = sum(2.0 * distances.get(one.donor, 0.0) for one in trips)
        lines.append(
            say(
                "{count} free loads; {number} km there and back, if each was fetched by itself. Fuel is not counted.",
                count=len(trips),
                number=number(km, 2),
            )
        )
    return lines
