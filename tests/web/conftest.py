"""A database of its own for these tests, one garden with a person in every role, and one they have nothing to do with."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

DATA = Path(tempfile.mkdtemp(prefix="loamery-web-tests-"))
atexit.register(shutil.rmtree, DATA, ignore_errors=True)
DATABASE = os.environ.get("LOAMERY_TEST_DATABASE", "")
"""Address of another database these tests are run on; see test_postgres.py."""
os.environ |= {
    "LOAMERY_DATABASE_URL": DATABASE,
    "LOAMERY_DATA": str(DATA),
    "LOAMERY_SERVED": "",
    "LOAMERY_HOSTS": "",
    "DJANGO_SETTINGS_MODULE": "loamery.web.settings",
}

import django  # noqa: E402

django.setup()

from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection, transaction  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import override_settings, setup_test_environment, teardown_test_environment  # noqa: E402

from loamery.garden import Garden as Snapshot  # noqa: E402
from loamery.garden import write_garden  # noqa: E402

if TYPE_CHECKING:
    from loamery.web.people.models import Person
    from loamery.web.records.models import Garden

SMALL: dict[str, Any] = {
    "info": {"name": "Ours (invented)", "invented": True, "jurisdiction": "ca-a", "season_start": "2027-04-05", "draws": 100, "season_weeks": 12},
    "climate": {"mean_temp_c": [5.0] * 12, "rain_mm": [50.0] * 12},
    "donors": [{"id": "cafe", "name": "Café (invented)"}],
    "materials": [
        {"id": "grounds", "name": "Spent grounds", "kind": "coffee-spent"},
        {"id": "leaves", "name": "Leaves", "kind": "leaves-mixed"},
    ],
    "supplies": [{"donor": "cafe", "material": "grounds", "kg_per_week": 9, "first": "2027-04-05", "last": "2027-09-30"}],
    "beds": [{"id": "north", "name": "North bed", "area_m2": 8}, {"id": "south", "name": "South bed", "area_m2": 6}],
    "plantings": [{"bed": "north", "crop": "lettuce-leaf", "planted": "2027-05-01", "harvested": "2027-06-20", "share": 0.6}],
    "heaps": [{"id": "bin", "name": "Bin", "capacity_m3": 1}],
    "worm_beds": [{"id": "box", "name": "Box", "area_m2": 0.5}],
    "loads": [{"id": "load-1", "donor": "cafe", "material": "grounds", "on": "2027-04-08", "kg": 9.5}],
    "batches": [{"id": "spring", "heap": "bin", "built": "2027-04-10"}],
    "batch_parts": [{"batch": "spring", "material": "grounds", "kg": 9.5}],
    "readings": [{"batch": "spring", "on": "2027-04-13", "depth_m": 0.3, "temp_c": 51.5, "by": "Ada"}],
}  # fmt: skip


@dataclass(frozen=True)
class World:
    """Two gardens, the people of the first by role, and the owner of the second."""

    ours: Garden
    theirs: Garden
    people: dict[str, Person]
    stranger: Person


@pytest.fixture(scope="session")
def _tables() -> Iterator[World]:
    setup_test_environment()
    with override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]):
        call_command("migrate", verbosity=0)
        yield _made()
    connection.close()
    teardown_test_environment()
    shutil.rmtree(DATA, ignore_errors=True)


def _made() -> World:
    from loamery.web.people.models import Membership, Person
    from loamery.web.people.roles import Role
    from loamery.web.records.exchange import take_in
    from loamery.web.records.models import Garden

    if (ours := Garden.objects.filter(slug="ours").first()) is not None:  # a second run on a database that stays
        named = {role.name.lower(): Person.objects.get(email=f"{role.name.lower()}@ours.example") for role in Role}
        return World(ours, Garden.objects.get(slug="theirs"), named, Person.objects.get(email="owner@theirs.example"))
    with tempfile.TemporaryDirectory() as place:
        folder = write_garden(Snapshot.model_validate(SMALL), Path(place) / "garden")
        people = {}
        for role in Role:
            name = role.name.lower()
            people[name] = Person.objects.create_user(f"{name}@ours.example", name.title(), "a long password")
        stranger = Person.objects.create_user("owner@theirs.example", "Stranger", "a long password")
        ours = take_in(folder, people["owner"], slug="ours")
        theirs = take_in(folder, stranger, slug="theirs")
    for role in Role:
        if role != Role.OWNER:
            Membership.objects.create(person=people[role.name.lower()], garden=ours, role=role)
    return World(ours, theirs, people, stranger)


@pytest.fixture
def world(_tables: World) -> Iterator[World]:
    """Give the two gardens; whatever a test does to them is taken back."""
    from django.core.cache import cache

    cache.clear()
    held = set((DATA / "gardens").glob("*/*/*")) if (DATA / "gardens").exists() else set()
    with transaction.atomic(), override_settings(SERVED=True, SECURE_SSL_REDIRECT=False):
        yield _tables
        transaction.set_rollback(True)
    _tables.ours.refresh_from_db()
    for path in (DATA / "gardens").glob("*/*/*"):
        if path not in held:
            path.unlink()


@pytest.fixture
def client_of(world: World) -> Any:
    """Return a function that gives the browser of a person: a role of our garden, ``stranger``, or ``nobody``."""

    def one(who: str) -> Client:
        client = Client()
        if who != "nobody":
            client.force_login(world.stranger if who == "stranger" else world.people[who])
        return client

    return one


@pytest.fixture
def day() -> date:
    """Return a day on which the heap stands."""
    return date(2027, 4, 20)


assert settings.configured
