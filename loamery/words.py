"""Numbers in plain words: significant digits without exponents, units as people write them, bands."""

from __future__ import annotations

import math

from loamery.finding import Band
from loamery.say import say
from loamery.units import System, show, to_si

NBSP = "\u00a0"
UNIT_WORDS = {
    "1": "",
    "ratio": "",
    "pH": "",
    "m2": "m²",
    "m3": "m³",
    "kg/m3": "kg/m³",
    "g/m2": "g/m²",
    "kg/m2": "kg/m²",
    "ft2": "ft²",
    "yd3": "yd³",
    "lb/yd3": "lb/yd³",
    "lb/1000ft2": "lb/1000 ft²",
    "lb/ft2": "lb/ft²",
    "cmol(+)/kg": "cmol/kg",
}
"""Units as people write them, where that differs from the name in units.csv."""


def number(value: float, digits: int = 3) -> str:
    """Return a number with so many significant digits, no exponent, thousands apart; `-` is a true minus."""
    if not math.isfinite(value):
        return say("not known")
    if value == 0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, places)
    text = f"{rounded:,.{max(places, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace(",", NBSP).replace("-", "−")


def unit_words(name: str) -> str:
    """Return a unit as people write it, empty for pure numbers and pH."""
    return UNIT_WORDS.get(name, name)


def with_unit(text: str, unit_name: str) -> str:
    """Return a number with its unit; no break can fall between them."""
    words = unit_words(unit_name)
    return f"{text}{NBSP}{words}" if words else text


def quantity_text(value: float, unit_name: str, digits: int = 3) -> str:
    """Return a number in its unit."""
    return with_unit(number(value, digits), unit_name)


def band_text(band: Band) -> str:
    """Return a median and its band, e.g. ``2.05 % (1.8 to 2.3)``; the median alone where the band has no width."""
    middle = with_unit(number(band.median), band.unit)
    return middle if band.low == band.high else say("{middle} ({range})", middle=middle, range=range_text(band))


def range_text(band: Band, digits: int = 2) -> str:
    """Return the ends of a band in words, e.g. ``1.8 to 2.3``; ends carry one digit less than medians."""
    return say("{low} to {high}", low=number(band.low, digits), high=number(band.high, digits))


def rate_text(g_m2: float, system: System) -> str:
    """Return a nutrient rate given in g per m2 in a person's units."""
    return quantity_text(*show(to_si(g_m2, "g/m2"), "nutrient rate", system))


def rate_band(band: Band, system: System) -> str:
    """Return a band given in g per m2 in a person's units."""
    factor, unit = show(to_si(1.0, "g/m2"), "nutrient rate", system)
    return band_text(band.scaled(factor, unit))


def mass_text(kg: float, system: System, digits: int = 3) -> str:
    """Return a mass in a person's units."""
    return quantity_text(*show(kg, "mass", system), digits)
