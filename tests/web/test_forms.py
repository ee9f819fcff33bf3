"""Every kind of record is written down and changed in its form, as a browser fills it in."""

from __future__ import annotations

import re
from typing import Any

import pytest

from loamery.web.records.models import KINDS
from tests.web.conftest import World

FILLED: dict[str, dict[str, str]] = {
    "donors": {"name": "Brewery"},
    "materials": {"name": "Spent grain", "kind": "brewers-grain"},
    "supplies": {"donor": "cafe", "material": "leaves", "kg_per_week": "3", "first": "2027-04-05", "last": "2027-05-05"},
    "goods": {"material": "leaves", "sack_kg": "20", "price": "8,50"},
    "fertilisers": {"name": "Blood meal", "n_percent": "12", "price_per_kg": "5.4"},
    "stores": {"material": "leaves", "kg": "4"},
    "test_prices": {"test": "compost-standard", "price": "30"},
    "beds": {"name": "East bed", "area_m2": "4"},
    "plantings": {"bed": "south", "crop": "lettuce-leaf", "planted": "2027-05-01", "harvested": "2027-06-20", "share": "0.5"},
    "soil_values": {"bed": "north", "quantity": "pH", "value": "6.5", "unit": "pH"},
    "heaps": {"name": "Second bin", "capacity_m3": "1"},
    "worm_beds": {"name": "Second box", "area_m2": "0.4"},
    "weather": {"day": "2027-04-20", "min_temp_c": "2", "max_temp_c": "9", "rain_mm": "0"},
    "loads": {"donor": "cafe", "material": "grounds", "on": "2027-04-20", "kg": "7"},
    "batches": {"heap": "bin", "built": "2027-06-10"},
    "batch_parts": {"batch": "spring", "material": "leaves", "kg": "5"},
    "applications": {"bed": "north", "on": "2027-04-20", "material": "leaves", "kg": "5", "use": "mulch"},
    "turnings": {"batch": "spring", "on": "2027-04-20"},
    "waterings": {"batch": "spring", "on": "2027-04-20", "kg": "10"},
    "readings": {"batch": "spring", "on": "2027-04-20", "temp_c": "48.5"},
    "feedings": {"worm_bed": "box", "material": "grounds", "on": "2027-04-20", "kg": "0.5"},
    "harvests": {"bed": "north", "crop": "lettuce-leaf", "on": "2027-06-20", "kg": "2"},
    "prices": {"item": "grounds", "on": "2027-04-20", "price_per_kg": "2"},
}  # fmt: skip
ELSEWHERE = {"reports", "trials", "trial_readings"}
"""Kinds that are tried with a page of their own."""


def shown_in(page: str) -> dict[str, str]:
    """Return what a form holds before anybody types, as a browser sends it."""
    found = {}
    for name, options in re.findall(r'<select name="(\w+)"(.*?)</select>', page, flags=re.S):
        found |= {name: value for value in re.findall(r'value="([^"]+)" selected', options)}  # noqa: B035
    for tag in re.findall(r'<input [^>]*type="(?:text|date)"[^>]*>', page):
        name, value = (re.search(rf'{one}="([^"]*)"', tag) for one in (" name", " value"))
        found |= {name[1]: value[1]} if name and value else {}
    return found


def test_every_kind_has_its_form_tried() -> None:
    assert set(FILLED) | ELSEWHERE == set(KINDS)


@pytest.mark.parametrize("kind", FILLED)
def test_a_record_is_written_down_in_its_form_and_changed_there(world: World, client_of: Any, kind: str) -> None:
    client, place, table = client_of("grower"), f"/g/ours/records/{kind}", KINDS[kind]
    before = set(table.objects.filter(garden=world.ours).values_list("pk", flat=True))
    answer = client.post(f"{place}/add", {**shown_in(client.get(f"{place}/add").content.decode()), **FILLED[kind]})
    assert answer.status_code == 302, re.findall(r'role="alert">.*|_error">.*', answer.content.decode())
    (made,) = table.objects.filter(garden=world.ours).exclude(pk__in=before)
    for name, value in FILLED[kind].items():
        said = made.values()[name]
        assert str(said) == value or float(said) == float(value.replace(",", "."))
    for at in (f"{place}/{made.pk}/edit", f"{place}/{made.pk}/history", place):
        assert client.get(at).status_code == 200
