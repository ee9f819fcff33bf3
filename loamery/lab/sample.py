"""One sample seen on one basis: which printed figure to use, converted through the sample's own moisture."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from loamery.finding import Input
from loamery.garden.report import Determination, LabReport, composition_key
from loamery.lab.precision import precision
from loamery.names import quantity
from loamery.say import joined
from loamery.units import from_si, to_as_received, to_dry

Side = Literal["dry", "as_received"]
OTHER_SIDE: dict[str, Side] = {"dry": "as_received", "as_received": "dry"}


@dataclass(frozen=True)
class Figure:
    """A value of one sample on a stated basis.

    Parameters
    ----------
    value : SI, on that basis; for a non-detect the reporting limit.
    sd : standard deviation from the laboratory alone (without the moisture used to convert), SI.
    determination : what was printed.
    moisture : the moisture figure used to convert, None when the printed basis was the wanted one.
    """

    value: float
    sd: float
    determination: Determination
    moisture: Figure | None = None

    @property
    def censored(self) -> bool:
        """Tell whether only an upper limit is known."""
        return self.determination.censored in ("below", "trace")

    @property
    def combined_sd(self) -> float:
        """Return the standard deviation including that of the moisture used to convert, SI."""
        if self.moisture is None:
            return self.sd
        # dry = wet/(1 - M): a relative error of dry matter passes straight to the value.
        return math.hypot(self.sd, self.value * self.moisture.sd / (1.0 - self.moisture.value))


def moisture_of(report: LabReport) -> Figure | None:
    """Return the moisture of a sample, kg water per kg as received, or None when the report gives none below 1."""
    for one in report.all("moisture"):
        if one.value is not None and one.censored == "no" and 0 < one.value < 1:
            return Figure(one.value, precision(one).sd, one)
    return None


def figure(report: LabReport, key: str, side: Side = "dry", *, censored: bool = False) -> Figure | None:
    """Return the figure of a composition key on a basis.

    Parameters
    ----------
    report : the sample.
    key : composition key, e.g. ``N`` or ``P:extractable``.
    side : wanted basis; a value printed on the other basis is converted with the sample's own moisture.
    censored : return the limit of a non-detect too.

    Returns
    -------
    None when the report does not give it, gives it on an unstated basis, or gives no moisture to convert with.
    """
    usable = [one for one in report.all(key) if _amount(one, censored) is not None]
    # A measured value before a limit, nitrogen by combustion before Kjeldahl.
    usable.sort(key=lambda one: (one.censored != "no", "tkn" in one.method.lower()))
    wanted: tuple[str, ...] = (side,) if quantity(key.split(":")[0]).is_concentration else _any_basis(key)
    for one in usable:
        if one.basis in wanted:
            return _plain(one)
    moisture = moisture_of(report)
    for one in usable:
        if moisture is not None and one.basis == OTHER_SIDE[side] and quantity(one.quantity).is_concentration:
            return _converted(one, side, moisture)
    return None


def total_nitrogen(report: LabReport, side: Side = "dry") -> tuple[Figure, ...]:
    """Return the figures that add up to total nitrogen: nitrogen, and nitrate beside it when nitrogen is Kjeldahl's."""
    found = figure(report, "N", side)
    nitrate = figure(report, "NO3_N", side) if found is not None and kjeldahl(found) else None
    return tuple(one for one in (found, nitrate) if one is not None)


def kjeldahl(one: Figure) -> bool:
    """Tell whether a nitrogen figure leaves nitrate out."""
    return "tkn" in one.determination.method.lower()


def _any_basis(key: str) -> tuple[str, ...]:
    return (
        ("none", "as_received", "not_stated") if key == "bulk_density" else ("none", "dry", "as_received", "not_stated")
    )


def _amount(one: Determination, censored: bool) -> float | None:
    if one.censored == "no":
        return one.value
    return one.limit if censored and one.censored in ("below", "trace") else None


def _plain(one: Determination) -> Figure:
    value = _amount(one, True) or 0.0
    return Figure(value, precision(one, value).sd, one)


def _converted(one: Determination, side: Side, moisture: Figure) -> Figure:
    plain = _plain(one)
    turn = to_dry if side == "dry" else to_as_received
    return Figure(turn(plain.value, moisture.value), turn(plain.sd, moisture.value), one, moisture)


def shown(value: float, key: str, digits: int = 4) -> str:
    """Return an SI value as people read it, in the unit of the glossary."""
    one = quantity(key.split(":")[0])
    unit = "" if one.display_unit in ("pH", "ratio") else f" {one.display_unit}"
    return f"{from_si(value, one.display_unit):.{digits}g}{unit}"


def as_input(one: Figure) -> Input:
    """Return a figure as an input of a trace, as printed and where it was read."""
    made = one.determination
    printed = " ".join(part for part in (made.raw_value, made.raw_unit) if part)
    plain = made.value if made.value is not None else made.limit
    value = printed or shown(one.value if plain is None else plain, made.quantity)
    basis = made.basis.replace("_", " ") if made.basis != "none" else ""
    return Input(
        made.raw_name or made.label,
        joined(", ", (value, basis)) if basis else value,
        str(made.where),
    )


def names_in(report: LabReport) -> tuple[str, ...]:
    """Return the composition keys a report holds, each once, in order."""
    return tuple(dict.fromkeys(composition_key(one.quantity, one.fraction) for one in report.determinations))
