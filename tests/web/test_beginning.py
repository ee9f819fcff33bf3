"""Starting a garden in the browser."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest

from loamery.garden import read_garden
from loamery.web.pages.beginning import season_of
from loamery.web.people.models import Membership
from loamery.web.people.roles import Role
from loamery.web.records import exchange, ledger
from loamery.web.records.models import Garden
from tests.web.conftest import World

SAID = {
    "whose": "garden", "name": "Plot 9", "place": "Guelph", "season_start": "2027-04-05", "season_weeks": "20",
    "bucket_l": "12", "jurisdiction": "ca-a", "units": "metric", "currency": "CAD", "hours_per_week": "", "source": "our service", "latitude": "43.5",
    **{f"temp_{one}": str(one - 6.5) for one in range(1, 13)}, **{f"rain_{one}": str(30 + one) for one in range(1, 13)},
}  # fmt: skip


def test_a_garden_that_was_begun_is_its_persons_own_and_a_whole_folder(
    world: World, client_of: Any, tmp_path: Any
) -> None:
    world.stranger.memberships.all().delete()
    client = client_of("stranger")
    assert "/begin" in client.get("/", follow=True).content.decode()
    answer = client.post("/begin", SAID)
    garden = Garden.objects.latest("pk")
    assert answer.headers["Location"] == f"/g/{garden.slug}/"
    first = client.get(f"/g/{garden.slug}/").content.decode()
    assert f"/g/{garden.slug}/records/beds/add" in first
    assert "Plan the season</button>" not in first
    ready = client_of("grower").get("/g/ours/").content.decode()
    assert "/g/ours/records/beds/add" not in ready
    assert "Plan the season</button>" in ready
    assert Membership.objects.get(garden=garden).person == world.stranger
    assert Membership.objects.get(garden=garden).role == Role.OWNER
    read = read_garden(exchange.write_out(garden, tmp_path / "out"))
    assert (read.info.name, read.info.bucket_l, read.info.season_weeks) == ("Plot 9", 12.0, 20)
    assert read.climate.mean_temp_c == tuple(one - 6.5 for one in range(1, 13))
    assert read.climate.rain_mm == tuple(30.0 + one for one in range(1, 13))
    assert read.climate.latitude_deg == 43.5
    (told,) = garden.changes.all()
    assert (told.action, told.who) == ("add", world.stranger)


def test_a_first_step_leads_back_to_the_next_one(world: World, client_of: Any) -> None:
    bed = {"name": "Sunny bed", "area_m2": "6", "depth_m": "15", "texture": "loam", "bulk_density_kg_m3": "1200"}
    grower = client_of("grower")
    assert grower.post("/g/ours/records/beds/add?then=today", bed).headers["Location"] == "/g/ours/"
    assert grower.post("/g/ours/records/beds/add", bed).headers["Location"] == "/g/ours/records/beds"


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [("name", "", "required"), ("season_start", "soon", "valid date"), ("temp_7", "200", "60"), ("rain_2", "", "required"), ("latitude", "95", "90"),
     ("season_weeks", "400", "This cannot be"), ("jurisdiction", "mars", "mars"), ("jurisdiction", "", "required"), ("bucket_l", "-1", "This cannot be")],
)  # fmt: skip
def test_what_cannot_be_is_told_and_nothing_is_made(
    world: World, client_of: Any, field: str, value: str, says: str
) -> None:
    before = Garden.objects.count()
    answer = client_of("stranger").post("/begin", {**SAID, field: value})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert 'value="Plot 9"' in answer.content.decode() or field == "name"
    assert Garden.objects.count() == before


def test_what_the_page_itself_sends_is_enough(world: World, client_of: Any) -> None:
    """Send back just the fields the page shows, as a browser does."""
    client = client_of("stranger")
    names = set(re.findall(r' name="([a-z_0-9]+)"', client.get("/begin").content.decode()))
    assert client.post("/begin", {name: value for name, value in SAID.items() if name in names}).status_code == 302


def test_who_reads_fahrenheit_writes_fahrenheit(world: World, client_of: Any) -> None:
    world.stranger.units = "us"
    world.stranger.save()
    assert "°F" in client_of("stranger").get("/begin").content.decode()
    client_of("stranger").post("/begin", {**SAID, "units": "us", "temp_1": "50", "rain_1": "2"})
    climate = Garden.objects.latest("pk").normals
    assert climate.mean_temp_c[0] == pytest.approx(10.0)
    assert climate.rain_mm[0] == pytest.approx(50.8)


def test_the_season_that_is_filled_in_begins_on_a_monday_in_april() -> None:
    for day in (date(2027, 1, 1), date(2027, 4, 30), date(2027, 11, 25)):
        first = season_of(day)
        assert (first.weekday(), first.month) == (0, 4)
    assert season_of(date(2027, 11, 25)).year == 2028


def test_settings_are_taken_back_once_and_only_by_an_owner(world: World, client_of: Any) -> None:
    world.ours.name = "Renamed"
    world.ours.save()
    ledger.changed(world.ours, world.people["owner"])
    change = world.ours.changes.filter(kind="garden").first()
    path = f"/g/ours/changes/{change.pk}/undo"
    assert client_of("grower").post(path).status_code == 403
    assert client_of("owner").post(path).status_code == 302
    world.ours.refresh_from_db()
    assert world.ours.name == "Ours (invented)"
    assert world.ours.season_start == date(2027, 4, 5)
    assert world.ours.changes.filter(kind="garden").first().undoes == change
    client_of("owner").post(path)
    assert world.ours.changes.filter(kind="garden").count() == 3, "what was taken back cannot be taken back again"


def test_the_climate_is_changed_under_settings_and_taken_back(world: World, client_of: Any) -> None:
    said = {name: value for name, value in SAID.items() if name.startswith(("temp_", "rain_", "source"))}
    before = world.ours.normals
    assert client_of("grower").post("/g/ours/settings/", {**said, "whose": "climate"}).status_code == 200
    world.ours.refresh_from_db()
    assert world.ours.normals == before, "only an owner may"
    assert client_of("owner").post("/g/ours/settings/", {**said, "whose": "climate", "temp_3": "x"}).status_code == 422
    assert client_of("owner").post("/g/ours/settings/", {**said, "whose": "climate"}).status_code == 302
    world.ours.refresh_from_db()
    assert world.ours.normals.rain_mm[11] == 42.0
    ledger.undo_settings(world.ours.changes.filter(kind="garden").first(), world.people["owner"])
    world.ours.refresh_from_db()
    assert world.ours.normals == before
