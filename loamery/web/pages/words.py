"""Numbers, amounts, bands and days as one person reads them: their language, their units."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from loamery.evidence.text import Units, buckets_text
from loamery.finding import Band
from loamery.say import day_of_month
from loamery.units import System, show, to_si
from loamery.web.pages.terms import told
from loamery.words import NBSP, number, unit_words

COMMA_LANGUAGES = ("fr",)
TO_F = (1.8, 32.0)
KNOWN_WHOLE = 0.995


@dataclass(frozen=True)
class Shown:
    """A number on a page.

    Parameters
    ----------
    text : with its unit. between : its 90 % band in words, empty when it has none.
    trace : id of where it comes from. kept : kind and place of the record that says so, when it is shown as written down.
    badge, strong : a word beside it, and its kind (warn, stop).
    """

    text: str
    between: str = ""
    trace: str = ""
    badge: str = ""
    strong: str = ""
    kept: str = ""


@dataclass(frozen=True)
class Words:
    """How one person reads numbers.

    Parameters
    ----------
    language : code such as ``en`` or ``fr``. system : of units.
    """

    language: str
    system: System

    @property
    def units(self) -> Units:
        """Return the amounts of the evidence sheets in the same units."""
        return Units(self.system)

    def local(self, text: str) -> str:
        """Return a number written with a point as this language writes it."""
        return text.replace(".", ",") if self.language in COMMA_LANGUAGES else text

    def number(self, value: float, digits: int = 3) -> str:
        """Return a plain number with so many significant digits."""
        return self.local(number(value, digits))

    def amount(self, value_si: float, kind: str, digits: int = 2) -> str:
        """Return an SI value in the person's unit of its kind (see ``loamery.units.PREFERRED``)."""
        return self.local(self.units.amount(value_si, kind, digits))

    def mass(self, kg: float) -> str:
        """Return a mass."""
        return self.amount(kg, "mass")

    def litres(self, litres: float) -> str:
        """Return a volume given in litres."""
        return self.amount(to_si(litres, "L"), "volume")

    def depth(self, metres: float) -> str:
        """Return a depth."""
        return self.amount(metres, "depth")

    def temp(self, temp_c: float) -> str:
        """Return a temperature in whole degrees."""
        value = temp_c * TO_F[0] + TO_F[1] if self.system == "us" else temp_c
        return f"{value:.0f}{NBSP}{'°F' if self.system == 'us' else '°C'}".replace("-", "−")

    def share(self, share: float) -> str:
        """Return a share in whole percent."""
        return _("{number} %").format(number=number(round(100 * share), 6)).replace(" %", f"{NBSP}%")

    def buckets(self, buckets: float) -> str:
        """Return whole and half buckets."""
        return ngettext("{count} bucket", "{count} buckets", 1 if buckets <= 1 else 2).format(
            count=buckets_text(buckets)
        )

    def hours(self, hours: float) -> str:
        """Return hours of work; less than one in steps of five minutes."""
        if 0 < hours < 1:
            return _("{count} min").format(count=max(5 * round(60 * hours / 5), 5)).replace(" ", NBSP)
        return _("{count} h").format(count=self.number(hours, 2)).replace(" ", NBSP)

    def between(self, band: Band, digits: int = 2) -> str:
        """Return the ends of a band in words."""
        if band.low == band.high:
            return ""
        low, high = self.number(band.low, digits), self.number(band.high, digits)
        return _("{low} to {high}").format(low=low, high=high)

    def band(self, band: Band, trace: str = "") -> Shown:
        """Return a median with its unit and its band."""
        unit = unit_words(band.unit)
        text = self.number(band.median) + (f"{NBSP}{unit}" if unit else "")
        return Shown(text, self.between(band), trace)

    def rate(self, g_m2: float, trace: str = "") -> Shown:
        """Return a nutrient rate given in g per m2."""
        return Shown(self.amount(to_si(g_m2, "g/m2"), "nutrient rate"), "", trace)

    def rate_band(self, band: Band, trace: str = "") -> Shown:
        """Return a nutrient rate with its band, given in any unit of rate."""
        return self.band(self.units.rate(band), trace)

    def mass_band(self, band: Band, trace: str = "") -> Shown:
        """Return a mass with its band, given in kg."""
        factor, unit = show(1.0, "mass", self.system)
        return self.band(band.scaled(factor, unit), trace)

    def day(self, day: date) -> str:
        """Return a day in words with its year."""
        return f"{told(day_of_month(day))} {date_format(day, 'F Y')}".replace(" ", NBSP)

    def short_day(self, day: date) -> str:
        """Return a day without its year."""
        return f"{told(day_of_month(day))} {date_format(day, 'N')}".rstrip(".").replace(" ", NBSP)

    def week(self, monday: date) -> str:
        """Return a week by its first and last day."""
        return _("{first} to {last}").format(first=self.short_day(monday), last=self.short_day(monday + timedelta(6)))

    def listing(self, names: Iterable[str]) -> str:
        """Return names as people list them."""
        known = list(names)
        if len(known) < 2:
            return known[0] if known else _("none")
        return _("{most} and {last}").format(most=", ".join(known[:-1]), last=known[-1])


def line_of(band: Band, low: float, high: float, words: str, limit: float | None = None) -> dict[str, object]:
    """Return a band as places on a line 200 wide.

    Parameters
    ----------
    low, high : ends of the axis in the band's unit. words : what a person who cannot see it needs to know.
    """
    span = max(high - low, 1e-12)

    def at(value: float) -> float:
        return round(200.0 * min(max((value - low) / span, 0.0), 1.0), 1)

    return {
        "low": at(band.low),
        "middle": at(band.median),
        "high": at(band.high),
        "limit": None if limit is None else at(limit),
        "over": limit is not None and band.median > limit,
        "words": words,
    }
