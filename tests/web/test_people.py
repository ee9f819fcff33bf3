"""People come in by invitation, log in, forget passwords, lose roles; tries are limited; what they do is written down."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.core import mail
from django.test import Client
from django.test.utils import override_settings

from loamery.web.people.models import Audit, Invitation, Membership, Person, Token, digest
from loamery.web.people.roles import Role
from tests.web.conftest import World

Browser = Callable[[str], Client]
PASSWORD = "a long password"


@pytest.fixture(autouse=True)
def _mail(world: World) -> object:
    with override_settings(EMAIL_BACKEND="django.core.mail.backends.locmem.EmailBackend"):
        mail.outbox = []
        yield


def link(of: str) -> str:
    found = re.search(rf"https?://testserver(/{of}\S+)", mail.outbox[-1].body)
    assert found
    return found[1]


def test_an_invited_person_joins_once_and_with_the_role_given(world: World, client_of: Browser) -> None:
    client_of("owner").post("/g/ours/people/invite", {"email": "new@ours.example", "role": Role.LOGGER})
    assert mail.outbox[-1].to == ["new@ours.example"]
    where, newcomer = link("join"), Client()
    assert "Ours" in newcomer.get(where).content.decode()
    answer = newcomer.post(where, {"name": "Nia", "password": "heaps and heaps"})
    assert answer.url == "/g/ours/"
    assert Membership.objects.get(person__email="new@ours.example").role == Role.LOGGER
    assert newcomer.get("/g/ours/").status_code == 200
    assert Client().get(where).status_code == 404, "a link lets in once"
    assert {"invited", "joined"} <= set(Audit.objects.filter(garden=world.ours).values_list("what", flat=True))


def test_a_link_is_no_way_around_somebodys_password(world: World, client_of: Browser) -> None:
    client_of("owner").post("/g/ours/people/invite", {"email": "owner@theirs.example", "role": Role.OWNER})
    answer = Client().post(link("join"), {"name": "x", "password": "heaps and heaps"})
    assert "/login" in answer.content.decode()
    assert not Membership.objects.filter(person=world.stranger, garden=world.ours).exists()
    client_of("stranger").post(link("join"))
    assert Membership.objects.get(person=world.stranger, garden=world.ours).role == Role.OWNER


def test_old_and_withdrawn_invitations_are_gone(world: World, client_of: Browser) -> None:
    from datetime import timedelta

    client_of("owner").post("/g/ours/people/invite", {"email": "a@ours.example", "role": Role.READER})
    where = link("join")
    one = Invitation.objects.get(email="a@ours.example")
    one.made_at -= timedelta(days=15)
    one.save()
    assert Client().get(where).status_code == 404
    client_of("owner").post(f"/g/ours/people/invitations/{one.pk}/withdraw")
    assert not Invitation.objects.filter(pk=one.pk).exists()


def test_what_the_database_holds_of_links_and_keys_is_useless(world: World, client_of: Browser) -> None:
    client_of("owner").post("/g/ours/people/invite", {"email": "a@ours.example", "role": Role.READER})
    assert Invitation.objects.get(email="a@ours.example").digest == digest(link("join").rsplit("/", 1)[1])
    answer = client_of("logger").post("/g/ours/tokens", {"name": "thermometer", "role": Role.LOGGER})
    shown = re.search(r"<code>(\S+)</code>", answer.content.decode())
    assert shown
    assert Token.objects.get(name="thermometer").digest == digest(shown[1])
    assert shown[1] not in client_of("logger").get("/g/ours/tokens").content.decode()


def test_a_key_may_not_do_more_than_its_person(world: World, client_of: Browser) -> None:
    answer = client_of("reader").post("/g/ours/tokens", {"name": "x", "role": Role.OWNER})
    assert answer.status_code == 422
    assert not Token.objects.exists()


def test_a_garden_keeps_an_owner(world: World, client_of: Browser) -> None:
    mine = Membership.objects.get(person=world.people["owner"], garden=world.ours)
    for role in ("0", str(int(Role.READER))):
        client_of("owner").post(f"/g/ours/people/{mine.pk}/role", {"role": role})
        mine.refresh_from_db()
        assert mine.role == Role.OWNER


def test_who_is_put_out_is_out_with_their_keys(world: World, client_of: Browser) -> None:
    logger = client_of("logger")
    key = Token.objects.create(person=world.people["logger"], garden=world.ours, name="x", digest=digest("x"))
    theirs = Membership.objects.get(person=world.people["logger"], garden=world.ours)
    client_of("owner").post(f"/g/ours/people/{theirs.pk}/role", {"role": "0"})
    assert logger.get("/g/ours/").status_code == 404
    key.refresh_from_db()
    assert key.ended_at is not None


def test_a_forgotten_password_is_set_anew_once(world: World) -> None:
    client = Client()
    client.post("/reset", {"email": "reader@ours.example"})
    where = link("reset")
    form = client.get(where, follow=True)
    new = {"new_password1": "turned and turned", "new_password2": "turned and turned"}
    assert client.post(form.request["PATH_INFO"], new).url == "/login"
    assert client.login(username="reader@ours.example", password="turned and turned")
    assert "used or is too old" in Client().get(where, follow=True).content.decode()


def test_a_reset_does_not_tell_who_is_known(world: World) -> None:
    known, unknown = (
        Client().post("/reset", {"email": email}) for email in ("reader@ours.example", "x@nowhere.example")
    )
    assert (known.status_code, known.url) == (unknown.status_code, unknown.url)
    assert len(mail.outbox) == 1


@pytest.mark.parametrize("password", ["short", "1234567890123", "password123", "reader@ours.example"])
def test_weak_passwords_are_refused(world: World, client_of: Browser, password: str) -> None:
    client = client_of("reader")
    client.post("/password", {"old_password": PASSWORD, "new_password1": password, "new_password2": password})
    assert Person.objects.get(email="reader@ours.example").check_password(PASSWORD)


def test_logging_in_whatever_the_capitals_and_out_again(world: World) -> None:
    client = Client()
    assert client.post("/login", {"username": "Reader@Ours.example", "password": PASSWORD}).status_code == 302
    assert client.get("/g/ours/").status_code == 200
    client.post("/logout")
    assert client.get("/g/ours/").status_code == 302


def test_guessing_a_password_ends_soon_even_with_the_right_one(world: World) -> None:
    client = Client()
    for number in range(10):
        assert (
            client.post("/login", {"username": "reader@ours.example", "password": f"guess {number}"}).status_code == 200
        )
    answer = client.post("/login", {"username": "reader@ours.example", "password": PASSWORD})
    assert "Too many tries" in answer.content.decode()
    assert client.get("/g/ours/").status_code == 302
    assert Audit.objects.filter(what="login refused", about="reader@ours.example").count() == 10


def test_mail_is_not_sent_without_end(world: World) -> None:
    answers = [Client().post("/reset", {"email": "reader@ours.example"}).status_code for _ in range(7)]
    assert answers == [302] * 5 + [429] * 2
    assert len(mail.outbox) == 5


def test_a_new_password_ends_other_sessions(world: World, client_of: Browser) -> None:
    other, client = Client(), client_of("reader")
    other.login(username="reader@ours.example", password=PASSWORD)
    new = {"old_password": PASSWORD, "new_password1": "turned and turned", "new_password2": "turned and turned"}
    client.post("/password", new)
    assert client.get("/g/ours/").status_code == 200
    assert other.get("/g/ours/").status_code == 302


def test_on_ones_own_machine_there_is_no_login(world: World) -> None:
    with override_settings(SERVED=False):
        assert Client().get("/me").status_code == 200
        assert Client(REMOTE_ADDR="10.0.0.7").get("/me").status_code == 302
    assert Client().get("/me").status_code == 302, "served, an address proves nothing"
