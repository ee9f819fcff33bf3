"""A bed's soil test: values from laboratory files and typed-in lines, and the class each falls into."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from loamery.errors import Where
from loamery.finding import Finding
from loamery.garden.model import SoilValue
from loamery.garden.report import Determination, LabReport
from loamery.lab.spellings import extractant_of
from loamery.names import quantity
from loamery.reference import coefficient, table
from loamery.say import say
from loamery.units import from_si, to_si, units
from loamery.words import quantity_text

CLASSES = ("very_low", "low", "medium", "high", "very_high")
SATURATED = "saturation_extract"
UNTESTED = "medium"
"""The class assumed for a bed nobody tested; always said aloud in a finding."""


@dataclass(frozen=True)
class SoilTest:
    """What is known of one bed's soil.

    Parameters
    ----------
    values : determinations by quantity key, SI.
    origin : report names or ``typed in``.
    """

    bed: str
    values: Mapping[str, Determination]
    origin: tuple[str, ...] = ()

    def value(self, key: str) -> float | None:
        """Return one value in SI, or None when it was not tested."""
        found = self.values.get(key)
        return None if found is None else found.value

    def nutrient_class(self, key: str) -> str | None:
        """Return very_low, low, medium, high or very_high, or None when untested or no table fits the extractant."""
        found = self.values.get(key)
        if found is None or found.value is None:
            return None
        return classify(key, table_key(key, found.method), found.value)

    def saturated_ec(self) -> float | None:
        """Return the conductivity of the saturated paste, S/m; None when untested or measured in another extract."""
        found = self.values.get("EC")
        if found is None or table_key("EC", found.method) != SATURATED:
            return None
        return found.value


def classify(key: str, extractant: str, value_si: float) -> str | None:
    """Return the sufficiency class of a soil test value.

    Parameters
    ----------
    key : quantity key, e.g. ``P``.
    extractant : key of soil_tests.csv; values of another extractant are never converted here.
    value_si : kg/kg for nutrients, pH units for pH.

    Returns
    -------
    The class, or None when no table for this extractant is known.

    Source
    ------
    soil_tests.csv, each row with its own source; rows that were read go before those recalled.
    """
    rows = [
        row
        for row in table("soil_tests")
        if row["analyte"] == key and row["extractant"] == extractant and row["unit"] in units()
    ]
    rows.sort(key=lambda row: row["read"] != "found")
    for row in rows:
        low = to_si(float(row["low"] or "-inf"), row["unit"])
        high = to_si(float(row["high"] or "inf"), row["unit"])
        if low <= value_si < high:
            return row["class"]
    return None


def table_key(key: str, method: str) -> str:
    """Return the extractant under which soil_tests.csv holds a quantity measured by a printed method.

    Parameters
    ----------
    method : as printed or typed, e.g. ``Mehlich-3``; reaction and organic matter are judged whatever the method.
    """
    if key in ("pH", "organic_matter"):
        return "none"
    if key == "EC" and "saturat" in method.casefold():
        return SATURATED
    return extractant_of(method) or method.strip().casefold() or "not stated"


def class_source(key: str, method: str) -> str:
    """Return the source key of the table that classifies a quantity by a method, empty if there is none."""
    rows = [row for row in table("soil_tests") if row["analyte"] == key and row["extractant"] == table_key(key, method)]
    rows.sort(key=lambda row: row["read"] != "found")
    return rows[0]["source"] if rows else ""


def soil_test(bed: str, typed: Iterable[SoilValue], reports: Sequence[LabReport]) -> SoilTest:
    """Return a bed's soil test; a laboratory's file counts before a typed-in line, what is later before what is earlier.

    Parameters
    ----------
    typed : typed-in lines of this bed.
    reports : laboratory reports of this bed's soil.

    Notes
    -----
    Crops are fed by what an extractant finds, limits are set on totals: a nutrient's extractable value is kept beside a
    total of it that comes later, a trace element's total beside an extractable one.
    """
    values: dict[str, Determination] = {}
    origin: list[str] = []
    for line in sorted(typed, key=lambda one: one.sampled_on or date.min):
        values[line.quantity] = _typed(line)
        origin.append(say("typed in"))
    for report in sorted(reports, key=lambda one: one.sampled_on or one.reported_on):
        origin.append(report.name)
        for one in report.determinations:
            if one.value is not None and _counts(one, values.get(one.quantity)):
                values[one.quantity] = one
    return SoilTest(bed, values, tuple(dict.fromkeys(origin)))


def _counts(new: Determination, old: Determination | None) -> bool:
    wanted = "total" if quantity(new.quantity).is_trace else "extractable"
    return old is None or new.fraction == wanted or old.fraction != wanted


def _typed(line: SoilValue) -> Determination:
    known = quantity(line.quantity)
    return Determination(
        quantity=line.quantity,
        fraction="extractable" if line.extractant and known.is_concentration else "none",
        value=to_si(line.value, line.unit),
        basis="dry" if known.is_concentration else "none",
        method=line.extractant,
        raw_name=line.quantity,
        raw_value=str(line.value),
        raw_unit=line.unit,
        where=Where(file="soil_values.csv"),
    )


def soil_findings(test: SoilTest, name: str) -> tuple[Finding, ...]:
    """Return what the test lacks, as findings about the bed."""
    out = []
    if not test.values:
        out.append(
            Finding(
                "bed_untested",
                "warning",
                say(
                    "{name}: no soil test. The plan assumes a medium soil with {soil_om_default:.1%} organic matter.",
                    name=name,
                    soil_om_default=soil_om_default(),
                ),
                say("neither soil_values.csv nor a report in reports.toml speaks of this bed"),
                (coefficient("soil_om_default").source,),
                about=test.bed,
                proposal=say("a basic soil test (pH, organic matter, P, K, salts) narrows this bed's plan most"),
            )
        )
    for key in ("P", "K", "EC"):
        found = test.values.get(key)
        judged = test.saturated_ec() if key == "EC" else test.nutrient_class(key)
        if found is not None and judged is None:
            out.append(
                Finding(
                    "extractant_unknown",
                    "warning",
                    say(
                        "{name}: soil {quantity} cannot be judged; an ordinary soil is assumed.",
                        name=name,
                        quantity=quantity(key).label.lower(),
                    ),
                    say("extractant “{what}” has no table in soil_tests.csv", what=found.method or say("not stated")),
                    about=test.bed,
                    proposal=say("ask the laboratory which extractant it used"),
                )
            )
    return tuple(out)


def soil_om_default() -> float:
    """Return the organic matter assumed for an untested bed, kg/kg."""
    return coefficient("soil_om_default").value


def show_value(one: Determination) -> str:
    """Return a soil value as people print it."""
    unit = soil_unit(one.quantity)
    text = say("not given") if one.value is None else quantity_text(from_si(one.value, unit), unit)
    return say("{text} ({method})", text=text, method=one.method) if one.method else text


def soil_unit(key: str) -> str:
    """Return the unit in which a figure of a soil is printed."""
    return "mg/kg" if key in ("P", "K", "Ca", "Mg", "S", "Na") else quantity(key).display_unit


def soil_limits(jurisdiction: str) -> dict[str, tuple[float, dict[str, str]]]:
    """Return the strictest soil guideline of a jurisdiction for each trace element.

    Parameters
    ----------
    jurisdiction : key of jurisdictions.csv.

    Returns
    -------
    By element: the limit, kg/kg dry soil, and the row of limits.csv it stands in.
    """
    keys = next(row for row in table("jurisdictions") if row["key"] == jurisdiction)["soil_limits"].split(";")
    out: dict[str, tuple[float, dict[str, str]]] = {}
    for row in table("limits"):
        if row["key"] in keys and row["applies_to"] == "soil" and row["unit"] == "mg/kg":
            limit = to_si(float(row["value"]), "mg/kg")
            if row["parameter"] not in out or limit < out[row["parameter"]][0]:
                out[row["parameter"]] = (limit, row)
    return out
