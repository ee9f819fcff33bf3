"""Who may see what: every address, every role, a stranger and nobody, from the table of addresses itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from loamery.web.people.access import needs
from loamery.web.people.roles import Role
from loamery.web.records.files import keep_bytes
from tests.web.conftest import World

ANYONE, PERSON = "anyone", "person"
READER, LOGGER, GROWER, OWNER = Role
NEEDED: dict[str, str | Role] = {
    "pages:entrance": PERSON,
    "pages:begin": PERSON,
    "pages:language": ANYONE,
    "pages:worker": ANYONE,
    "pages:public": ANYONE,
    "pages:public-origin": ANYONE,
    "pages:today": READER,
    "pages:done": LOGGER,
    "pages:differently": LOGGER,
    "pages:more": READER,
    "pages:origin": READER,
    "pages:kept": READER,
    "pages:materials": READER,
    "pages:material": READER,
    "pages:factsheet": READER,
    "pages:beds": READER,
    "pages:bed": READER,
    "pages:heaps": READER,
    "pages:heap": READER,
    "pages:inside": READER,
    "pages:worms": READER,
    "pages:settings": READER,
    "pages:season": READER,
    "pages:change": GROWER,
    "pages:unchange": GROWER,
    "pages:solve": GROWER,
    "pages:stop": GROWER,
    "pages:job": READER,
    "pages:reports": READER,
    "pages:upload": GROWER,
    "pages:review": GROWER,
    "pages:sheets": READER,
    "pages:tests": READER,
    "pages:what-if": READER,
    "pages:ask": GROWER,
    "pages:publish": OWNER,
    "pages:sheet": READER,
    "pages:here": READER,
    "pages:token": LOGGER,
    "pages:send": LOGGER,
    "records:health": ANYONE,
    "records:bring": PERSON,
    "records:changes": READER,
    "records:undo": LOGGER,
    "records:take-away": READER,
    "records:file": READER,
    "records:listing": READER,
    "records:add": LOGGER,
    "records:edit": LOGGER,
    "records:history": READER,
    "records:remove": LOGGER,
    "records:restore": LOGGER,
    "people:login": ANYONE,
    "people:logout": ANYONE,
    "people:me": PERSON,
    "people:password": PERSON,
    "people:reset": ANYONE,
    "people:reset-sent": ANYONE,
    "people:reset-confirm": ANYONE,
    "people:join": ANYONE,
    "people:people": OWNER,
    "people:invite": OWNER,
    "people:role": OWNER,
    "people:withdraw": OWNER,
    "people:tokens": READER,
    "people:end-token": READER,
}
"""Written by hand, apart from the views: a new address must be thought about here before its tests pass."""
GONE_FOR_OTHERS = {"people:join", "people:reset-confirm", "pages:public", "pages:public-origin"}
"""Addresses that hold a secret of their own, or were not opened, and are not there without it."""
NEED_A_PLAN = {
    "pages:inside",
    "pages:done",
    "pages:differently",
    "pages:origin",
    "pages:factsheet",
    "pages:sheet",
    "pages:ask",
    "pages:review",
}
"""Addresses of something that this garden, which was never planned, does not have."""


def patterns(resolver: Any = None, space: str = "") -> Iterator[tuple[str, URLPattern]]:
    for one in (resolver or get_resolver()).url_patterns:
        if isinstance(one, URLPattern):
            yield f"{space}{one.name}", one
        else:
            yield from patterns(one, f"{one.namespace}:" if one.namespace else space)


ROUTES = {name: one for name, one in patterns() if not name.startswith("api:")}
BY_TOKEN = [(name, one) for name, one in patterns() if name.startswith("api:")]
"""Addresses for programs; tests/web/test_api.py tries each of them with every role."""
IN_GARDEN = [name for name, one in ROUTES.items() if "slug" in one.pattern.converters]


def test_every_address_is_in_the_table_and_the_views_agree() -> None:
    assert {name: needs(one.callback) for name, one in ROUTES.items()} == NEEDED


def test_what_is_for_programs_asks_for_a_token() -> None:
    assert {name for name, one in BY_TOKEN if needs(one.callback) == ANYONE} == {"api:openapi-json", "api:api-root"}
    assert {needs(one.callback) for name, one in BY_TOKEN if name not in ("api:openapi-json", "api:api-root")} == {
        "token"
    }
    assert len(BY_TOKEN) > 60


def test_everything_below_a_garden_asks_for_a_role() -> None:
    assert all(isinstance(NEEDED[name], Role) for name in IN_GARDEN)
    assert len(IN_GARDEN) >= 15


KEYS = {
    "pages:material": "grounds",
    "pages:factsheet": "grounds",
    "pages:heap": "spring",
    "pages:inside": "spring",
    "pages:worms": "box",
}


@pytest.fixture(autouse=True)
def _nothing_is_reckoned(monkeypatch: pytest.MonkeyPatch) -> None:
    from loamery.web.pages import work

    monkeypatch.setattr(work, "start", lambda *_more, **_who: None)


def address(world: World, name: str, slug: str) -> str:
    given = {"slug": slug, "kind": "loads", "token": "none", "uidb64": "none", "path": "photos/none.jpg", "pk": 0,
             "garden": "ours", "index": 0, "place": 0, "name": "season.html", "key": KEYS.get(name, "north")}  # fmt: skip
    given["pk"] = pk_of(world, name)
    if name == "records:file":
        given["path"] = keep_bytes(world.ours, "said.csv", b"a,b\n1,2\n", "reports", None)
    wanted = ROUTES[name].pattern.converters
    return reverse(name, kwargs={key: given[key] for key in wanted})


def pk_of(world: World, name: str) -> int:
    from loamery.web.people.models import Membership, Token, digest
    from loamery.web.records import ledger
    from loamery.web.records.models import KINDS

    load = KINDS["loads"].objects.get(garden=world.ours)
    if name == "records:undo":
        entry = ledger.edit(load, {"kg": 8.0}, world.people["owner"])
        return int(ledger.history(entry).first().pk)
    if name == "people:role":
        return int(Membership.objects.get(garden=world.ours, person=world.people["reader"]).pk)
    if name == "people:withdraw":
        from loamery.web.people.models import Invitation

        one = Invitation.objects.create(
            garden=world.ours, email="x@x.example", digest=digest("x"), by=world.people["owner"]
        )
        return int(one.pk)
    if name == "people:end-token":
        person = world.people["owner"]
        return int(Token.objects.create(person=person, garden=world.ours, name="x", digest=digest("x")).pk)
    return int(load.pk)


Browser = Callable[[str], Client]
FINE = {200, 302, 405, 409, 422}


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("who", ["reader", "logger", "grower", "owner", "stranger", "nobody"])
@pytest.mark.parametrize("name", IN_GARDEN)
def test_a_page_of_a_garden(world: World, client_of: Browser, name: str, who: str, method: str) -> None:
    answer = getattr(client_of(who), method)(address(world, name, "ours"))
    if who == "nobody":
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("people:login"))
    elif who == "stranger":
        assert answer.status_code == 404
    elif Role[who.upper()] < NEEDED[name]:
        assert answer.status_code == 403
    elif name == "people:end-token" and who != "owner" and method == "post":
        assert answer.status_code == 404, "a key is its person's alone"
    else:
        fine = FINE | {404} if name in NEED_A_PLAN else FINE
        assert answer.status_code in fine, answer.content[:500]
        assert not answer.headers.get("Location", "").startswith(reverse("people:login"))


@pytest.mark.parametrize("name", [name for name in ROUTES if name not in IN_GARDEN])
@pytest.mark.parametrize("who", ["reader", "stranger", "nobody"])
def test_a_page_outside_of_gardens(world: World, client_of: Browser, name: str, who: str) -> None:
    answer = client_of(who).get(address(world, name, ""))
    if who == "nobody" and NEEDED[name] == PERSON:
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("people:login"))
    elif name in GONE_FOR_OTHERS:
        assert answer.status_code in {200, 404}
    else:
        assert answer.status_code in FINE


@pytest.mark.parametrize("kind", ["beds", "materials", "plantings", "reports"])
def test_a_logger_does_not_change_what_a_grower_does(world: World, client_of: Browser, kind: str) -> None:
    assert client_of("logger").get(reverse("records:add", args=["ours", kind])).status_code == 403
    assert client_of("grower").get(reverse("records:add", args=["ours", kind])).status_code == 200


def test_a_record_of_another_garden_is_not_reached_through_ones_own(world: World, client_of: Browser) -> None:
    from loamery.web.records.models import KINDS

    foreign = KINDS["loads"].objects.get(garden=world.theirs)
    for name in ("records:edit", "records:history"):
        assert client_of("owner").get(reverse(name, args=["ours", "loads", foreign.pk])).status_code == 404
    for name in ("records:remove", "records:restore"):
        assert client_of("owner").post(reverse(name, args=["ours", "loads", foreign.pk])).status_code == 404


def test_a_view_that_does_not_say_who_may_see_it_is_not_shown(
    world: World, client_of: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    from django.core.exceptions import ImproperlyConfigured

    from loamery.web.records import views

    monkeypatch.delattr(views.health, "needs")
    with pytest.raises(ImproperlyConfigured, match="records:health"):
        client_of("nobody").get("/health")
