"""The interface for programs: its shapes, who may do what, and that nothing sent to it breaks it."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from loamery.garden import Garden as Snapshot
from loamery.garden.folder import FILES
from loamery.web.api.routes import api
from loamery.web.people.models import Membership, Token, digest, new_token
from loamery.web.people.roles import Role
from loamery.web.records.models import KINDS
from loamery.web.records.snapshot import snapshot
from tests.web.conftest import World

READER, LOGGER, GROWER, OWNER = Role
LOGGED = {
    "loads",
    "batches",
    "batch_parts",
    "applications",
    "turnings",
    "waterings",
    "readings",
    "feedings",
    "harvests",
    "weather",
    "trial_readings",
}
WHOLE = {"garden": READER, "everything": READER, "changes": READER, "keep_file": LOGGER}
METHODS = {"list": "get", "get": "get", "add": "post", "change": "put", "remove": "delete", "restore": "post"}
Call = Callable[..., Any]
READING = {"batch": "spring", "on": "2027-04-20", "temp_c": 55.5}


def operations() -> Iterator[tuple[str, str, str]]:
    """Yield every operation of the published description: its name, method and path."""
    for path, methods in api.get_openapi_schema()["paths"].items():
        for method, one in methods.items():
            yield one["operationId"], method, path


OPERATIONS = list(operations())


def needed(name: str) -> Role:
    """Return the role an operation needs, said here apart from the code; one that is not foreseen is an error."""
    if name in WHOLE:
        return WHOLE[name]
    what, _, kind = name.partition("_")
    assert what in METHODS
    assert kind in {*FILES, "reports", "trials", "trial_readings"}
    return READER if what in ("list", "get") else LOGGER if kind in LOGGED else GROWER


@pytest.fixture
def key(world: World) -> Callable[[str, Role | None], str]:
    """Return a function that makes a token for a person."""

    def make(who: str, role: Role | None = None) -> str:
        secret = new_token()
        person = world.stranger if who == "stranger" else world.people[who]
        garden = world.theirs if who == "stranger" else world.ours
        Token.objects.create(person=person, garden=garden, name="x", role=role or OWNER, digest=digest(secret))
        return secret

    return make


@pytest.fixture
def call() -> Call:
    def one(secret: str, method: str, path: str, body: Any = None) -> Any:
        more = {"data": json.dumps(body), "content_type": "application/json"} if body is not None else {}
        return getattr(Client(), method)(path, headers={"Authorization": f"Bearer {secret}"}, **more)

    return one


def test_every_operation_is_foreseen_and_there_is_one_set_for_each_kind() -> None:
    assert all(needed(name) for name, _, _ in OPERATIONS)
    assert len(OPERATIONS) == len(WHOLE) + len(METHODS) * len(KINDS)


@pytest.mark.parametrize(("name", "method", "path"), OPERATIONS, ids=[one[0] for one in OPERATIONS])
def test_who_may_do_what(world: World, key: Any, call: Call, name: str, method: str, path: str) -> None:
    where = path.replace("{slug}", "ours").replace("{row}", "999999") + ("?place=photos" if name == "keep_file" else "")
    assert call("no-such-token", method, where).status_code == 401
    assert Client().generic(method.upper(), where).status_code == 401
    assert call(key("stranger"), method, where).status_code == 404
    assert call(key("owner"), method, where.replace("ours", "theirs")).status_code == 404
    body = {"post": {}, "put": {}}.get(method)
    for role in Role:
        answer = call(key(role.name.lower()), method, where, body)
        assert answer.status_code in ({403} if role < needed(name) else {200, 404, 422}), (role, answer.content)


@pytest.mark.parametrize("role", list(Role))
def test_a_role_too_low_is_refused_with_a_whole_record(world: World, key: Any, call: Call, role: Role) -> None:
    secret = key(role.name.lower())
    assert call(secret, "post", "/api/gardens/ours/readings", READING).status_code == (201 if role >= LOGGER else 403)
    donor = {"id": "brewery", "name": "Brewery"}
    assert call(secret, "post", "/api/gardens/ours/donors", donor).status_code == (201 if role >= GROWER else 403)


def test_a_token_never_does_more_than_it_or_its_person_may(world: World, key: Any, call: Call) -> None:
    weak = key("owner", READER)
    assert call(weak, "post", "/api/gardens/ours/readings", READING).status_code == 403
    strong = key("logger", OWNER)
    assert call(strong, "post", "/api/gardens/ours/donors", {"id": "b", "name": "B"}).status_code == 403
    Membership.objects.filter(person=world.people["logger"], garden=world.ours).delete()
    assert call(strong, "get", "/api/gardens/ours").status_code == 404
    Token.objects.update(ended_at=timezone.now())
    assert call(weak, "get", "/api/gardens/ours").status_code == 401


def test_everything_is_the_garden_of_the_folder(world: World, key: Any, call: Call) -> None:
    document = call(key("reader"), "get", "/api/gardens/ours/everything").json()
    assert (document.pop("trials"), document.pop("trial_readings")) == ([], [])
    assert Snapshot.model_validate(document).model_dump(exclude={"folder"}) == snapshot(world.ours).model_dump(
        exclude={"folder"}
    )
    assert document["folder"] == ""


def test_a_record_through_its_life(world: World, key: Any, call: Call) -> None:
    secret = key("logger")
    place = "/api/gardens/ours/readings"
    made = call(secret, "post", place, READING).json()
    assert made["record"]["temp_c"] == 55.5
    one = f"{place}/{made['row']}"
    assert call(secret, "put", one, {**READING, "temp_c": 56}).json()["record"]["temp_c"] == 56
    assert call(secret, "get", one).json()["record"]["temp_c"] == 56
    assert call(secret, "delete", one).status_code == 204
    assert call(secret, "get", one).status_code == 404
    assert call(secret, "put", one, READING).status_code == 404
    assert call(secret, "post", f"{one}/restore").status_code == 200
    told = call(secret, "get", "/api/gardens/ours/changes").json()["changes"]
    assert [each["action"] for each in told[:4]] == ["restore", "remove", "edit", "add"]
    assert made["row"] in [row["row"] for row in call(secret, "get", place).json()["rows"]]


def test_what_is_left_out_of_a_change_goes_back_to_what_it_is_when_left_out(world: World, key: Any, call: Call) -> None:
    secret = key("logger")
    made = call(secret, "post", "/api/gardens/ours/readings", {**READING, "note": "steam"}).json()
    assert call(secret, "put", f"/api/gardens/ours/readings/{made['row']}", READING).json()["record"]["note"] == ""


def test_the_same_number_is_taken_once(world: World, key: Any, call: Call) -> None:
    secret, number = key("logger"), uuid.uuid4()
    rows = {
        call(secret, "post", f"/api/gardens/ours/readings?sent_as={number}", READING).json()["row"] for _ in range(3)
    }
    assert len(rows) == 1


def test_a_fault_names_its_column(world: World, key: Any, call: Call) -> None:
    answer = call(key("logger"), "post", "/api/gardens/ours/readings", {**READING, "on": "2027-01-01"})
    assert answer.status_code == 422
    (fault,) = answer.json()["faults"]
    assert fault["where"]["column"] == "on"
    assert "2027-04-10" in fault["expected"]
    assert fault["remedy"]


def test_a_photo_is_kept_and_named_by_a_record(world: World, key: Any, call: Call) -> None:
    from tests.web.test_files import photo

    headers = {"Authorization": f"Bearer {key('logger')}"}
    upload = SimpleUploadedFile("heap.jpg", photo(), "image/jpeg")
    answer = Client().post("/api/gardens/ours/files?place=photos", {"file": upload}, headers=headers)
    assert answer.json() == {"path": "photos/heap.jpg"}
    bad = SimpleUploadedFile("heap.jpg", b"<html>", "image/jpeg")
    assert Client().post("/api/gardens/ours/files?place=photos", {"file": bad}, headers=headers).status_code == 422
    report = SimpleUploadedFile("r.csv", b"a,b\n", "text/csv")
    assert Client().post("/api/gardens/ours/files?place=reports", {"file": report}, headers=headers).status_code == 403
    made = call(key("logger"), "post", "/api/gardens/ours/readings", {**READING, "photo": "photos/heap.jpg"})
    assert made.status_code == 201


def test_the_description_is_public_and_loads_nothing_from_elsewhere() -> None:
    answer = Client().get("/api/openapi.json", headers={"host": "localhost"})
    assert answer.status_code in (200, 400)
    text = json.dumps(api.get_openapi_schema(), default=str)
    assert "cdn" not in text
    assert "http" not in text.replace("HTTPBearer", "").replace('"http"', "").lower().replace("httpbearer", "")
