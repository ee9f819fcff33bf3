"""Plain words for numbers, bands, amounts and dates, in the garden's system of units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from loamery.finding import Band, Severity
from loamery.say import day_of_month, joined, say
from loamery.units import System, from_si, show, to_si
from loamery.words import NBSP, number, quantity_text, unit_words

STEP_MIN = 5
LEAST_SHOWN = 0.005
"""Amounts below this, in the unit shown, are printed as 0; a grid, not a coefficient."""
SEVERITY_WORDS: dict[Severity, str] = {"stop": say("Stop"), "warning": say("Take care"), "note": say("Good to know")}
USE_WORDS = {
    "mulch": say("mulch"),
    "dig_in": say("worked in"),
    "heap": say("heap"),
    "worm_bed": say("worm bed"),
    "leave": say("left with the donor"),
}
INVENTED = say("Invented: this garden and its numbers are made up to show how it works.")
FRACTIONS = {0.0: "", 0.5: "½", 0.25: "¼", 0.75: "¾"}


def buckets_text(buckets: float) -> str:
    """Return whole and half buckets, e.g. ``5½``."""
    whole = math.floor(buckets + 1e-9)
    rest = FRACTIONS.get(round(4 * (buckets - whole)) / 4, "")
    return f"{whole or ''}{rest}" or "0"


def share_text(share: float) -> str:
    """Return a share as whole percent."""
    return f"{number(round(100 * share), 6)}{NBSP}%"


def day_text(day: date) -> str:
    """Return a day, e.g. ``5 April 2027``."""
    return joined(NBSP, (day_of_month(day), f"{day:%B}")) + f" {day:%Y}"


def short_day(day: date) -> str:
    """Return a day without its year, e.g. ``5 Apr``."""
    return joined(NBSP, (day_of_month(day), f"{day:%b}"))


def week_text(day: date) -> str:
    """Return a week by its first day, e.g. ``Week of 5 April``."""
    return say("Week of {day}", day=joined(NBSP, (day_of_month(day), f"{day:%B}")))


def hours_text(hours: float) -> str:
    """Return hours of work, e.g. ``1 hour``; less than one in steps of five minutes."""
    if 0 < hours < 1:
        return joined(NBSP, (str(max(STEP_MIN * round(60 * hours / STEP_MIN), STEP_MIN)), say("minutes")))
    text = number(hours, 2)
    return joined(NBSP, (text, say("hour") if text == "1" else say("hours")))


def plural(count: int, one: str, many: str = "") -> str:
    """Return a count with its noun."""
    return joined(NBSP, (str(count), one if count == 1 else many or one + "s"))


def sentence(text: str) -> str:
    """Return a text with a capital and a full stop."""
    text = text.strip()
    return text and text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")


def listing(names: list[str]) -> str:
    """Return names as people list them: a, b and c."""
    if len(names) < 2:
        return names[0] if names else say("none")
    return joined(", ", names[:-1]) + say(" and ") + names[-1]


@dataclass(frozen=True)
class Units:
    """Amounts in one system of units."""

    system: System

    def value(self, value_si: float, kind: str) -> float:
        """Return an SI value in the preferred unit of its kind (see ``loamery.units.PREFERRED``)."""
        return show(value_si, kind, self.system)[0]

    def name(self, kind: str) -> str:
        """Return the preferred unit of a kind as people write it."""
        return unit_words(show(0.0, kind, self.system)[1])

    def amount(self, value_si: float, kind: str, digits: int = 2) -> str:
        """Return an amount; whole numbers from 100 on."""
        value, name = show(value_si, kind, self.system)
        value = 0.0 if abs(value) < LEAST_SHOWN else value
        keep = max(digits, math.floor(math.log10(abs(value))) + 1) if value else digits
        return quantity_text(value, name, keep)

    def mass(self, kg: float) -> str:
        """Return a mass given in kg."""
        return self.amount(kg, "mass")

    def litres(self, litres: float) -> str:
        """Return a volume given in litres."""
        return self.amount(to_si(litres, "L"), "volume")

    def rate(self, band: Band) -> Band:
        """Return a nutrient rate, in any unit of rate, in the preferred one."""
        factor = to_si(1.0, band.unit)
        low, median, high = (
            show(factor * one, "nutrient rate", self.system)[0] for one in (band.low, band.median, band.high)
        )
        return Band(median, low, high, show(0.0, "nutrient rate", self.system)[1])

    def g_m2(self, grams: float) -> float:
        """Return a nutrient rate given in g/m2 as a number in the preferred unit."""
        return show(to_si(grams, "g/m2"), "nutrient rate", self.system)[0]

    def band(self, band: Band) -> Band:
        """Return a band in the unit of this system; only densities differ among compositions."""
        if band.unit != "kg/m3" or self.system == "metric":
            return band
        return band.scaled(float(from_si(1.0, "lb/yd3")), "lb/yd3")
