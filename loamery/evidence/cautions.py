"""Cautions of the reference data where they matter: for the materials at hand and the uses planned."""

from __future__ import annotations

from collections.abc import Iterable

from loamery.finding import Finding, Severity, by_severity
from loamery.reference import family
from loamery.season.stuff import group_of


def cautions_for(kind: str, uses: Iterable[str], *, general: bool = False) -> list[Finding]:
    """Return the cautions for one kind of material in the uses planned, gravest first.

    Parameters
    ----------
    kind : slug of materials.csv.
    uses : any of mulch, dig_in, heap, worm_bed, collect, store, soil.
    general : also those that hold for every material.
    """
    names = {kind, f"group:{group_of(kind)}"} | ({"*"} if general else set())
    wanted = set(uses)
    rows = [row for row in family("cautions") if names & _listed(row["applies_to"]) and _used(row, wanted)]
    return by_severity(_finding(row) for row in rows)


def general_cautions(uses: Iterable[str]) -> list[Finding]:
    """Return the cautions that hold whatever the material, in the uses planned."""
    wanted = set(uses)
    rows = [row for row in family("cautions") if "*" in _listed(row["applies_to"]) and _used(row, wanted)]
    return by_severity(_finding(row) for row in rows)


def _listed(text: str) -> set[str]:
    return set(text.split(";"))


def _used(row: dict[str, str], wanted: set[str]) -> bool:
    uses = _listed(row["uses"])
    return "*" in uses or bool(uses & wanted)


def _finding(row: dict[str, str]) -> Finding:
    severity: Severity = row["severity"]  # type: ignore[assignment]
    return Finding(row["code"], severity, row["text"], row["because"], (row["source"],), about=row["applies_to"])
