"""Questions answered in the background: asked by form, kept, shown in the person's words, printed."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from loamery.evidence.block import Sheet
from loamery.evidence.follow import Follow
from loamery.evidence.page import Page
from loamery.finding import Ledger
from loamery.garden.model import Bed
from loamery.lab.combine import compose
from loamery.say import say
from loamery.season import which_test
from loamery.trials.design import Head, Treatment
from loamery.trials.folder import Reading
from loamery.trials.lay_out import bed_shapes, lay_out
from loamery.trials.record import reading_record, record_of
from loamery.web.pages import asking, foresee, work
from loamery.web.pages import sheets as sheets_page
from loamery.web.records import ledger
from loamery.web.records.snapshot import snapshot
from tests.web.conftest import World

Browser = Callable[[str], Client]


@pytest.fixture
def garden(world: World, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    shutil.rmtree(work.place(world.ours.pk), ignore_errors=True)
    monkeypatch.setattr(asking, "SEASONS", 3)
    monkeypatch.setattr(work, "pdf_page", lambda _page: b"%PDF-1.7 stands for the printed sheet")
    monkeypatch.setattr(foresee, "_heaps", lambda *_more: {})
    monkeypatch.setattr(foresee, "drawings", lambda *_more: {})
    world.ours.today_is = date(2027, 4, 20)
    yield world.ours
    world.ours.today_is = None
    shutil.rmtree(work.place(world.ours.pk), ignore_errors=True)


def _worked(garden: Any, what: str, asked: dict[str, Any] | None = None) -> None:
    work.run(garden, what, asked)
    told = work.state(garden) or {}
    assert told.get("done"), told


def test_what_if_is_asked_by_form_answered_and_kept(
    garden: Any, client_of: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[Any] = []
    monkeypatch.setattr(work, "start", lambda _garden, *asked: started.append(asked))
    client = client_of("grower")
    answer = client.post("/g/ours/what-if/", {"crop": "tomato", "area": "4", "rain": "40"})
    assert answer.status_code == 302, answer.content.decode()[:2000]
    ((what, asked, who),) = started
    assert str(who) == "Grower"
    assert (what, asked["area_m2"], asked["rain"]) == ("what-if", 4.0, 0.4)
    _worked(garden, what, json.loads(json.dumps(asked)))
    page = client.get("/g/ours/what-if/").content.decode()
    assert "a bed of 4 m² with tomato is added and 40% of the usual rain falls" in page
    assert "Nitrogen short when it is needed" in page
    assert "chart-comparison" in page
    _all_told(client, page, "what-if/0/")
    french = client.get("/g/ours/what-if/", headers={"accept-language": "fr"}).content.decode()
    assert "Azote manquant quand il en faut" in french
    _worked(garden, what, asked)
    assert len(work.answer(garden, "what-if")) == 1, "the same question has one answer"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "Choose what would be different."),
        ({"crop": "tomato"}, "Fill in both, or neither."),
        ({"rain": "900"}, "500"),
        ({"donor": "nobody"}, "nobody"),
    ],
)
def test_a_question_that_makes_no_sense_is_not_asked(
    garden: Any, client_of: Browser, monkeypatch: pytest.MonkeyPatch, given: dict[str, str], said: str
) -> None:
    monkeypatch.setattr(work, "start", lambda *_more: pytest.fail("asked"))
    answer = client_of("grower").post("/g/ours/what-if/", given)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def _all_told(client: Any, page: str, head: str) -> None:
    """Hold that every figure in the page's tables opens where it comes from."""
    rows = re.findall(r'<td class="right"[^>]*>(.*?)</td>', page, flags=re.S)
    links = [re.search(r'class="why number" href="([^"]+)"', row) for row in rows]
    assert len(links) > 4
    assert all(links), rows
    for link in links:
        assert link is not None
        assert head in link[1]
        told = client.get(link[1], headers={"HX-Request": "true"})
        assert "How it was worked out" in told.content.decode(), link[1]


def test_a_change_that_leaves_no_plan_is_told(garden: Any) -> None:
    work.run(garden, "what-if", {"donor": "cafe"})
    told = work.state(garden) or {}
    assert told["failed"]
    assert told["words"]


def test_which_test_next_is_answered(garden: Any, client_of: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(which_test.which_test, "__kwdefaults__", {**which_test.which_test.__kwdefaults__, "draws": 100, "materials": 1})  # fmt: skip
    client = client_of("reader")
    assert "Tests, the best" not in client.get("/g/ours/tests/").content.decode()
    _worked(garden, "tests")
    page = client.get("/g/ours/tests/").content.decode()
    assert "Tests, the best for their price first" in page
    assert "North bed" in page
    assert "Find out" not in page, "a reader does not ask"
    _all_told(client, page, "test/")
    assert "Records have changed" not in page
    garden.version += 1
    garden.save(update_fields=["version"])
    assert "Records have changed" in client.get("/g/ours/tests/").content.decode()


def test_sheets_are_made_when_asked_for(garden: Any, client_of: Browser) -> None:
    client = client_of("reader")
    assert client.get("/g/ours/sheets/benefit.html").status_code == 404
    for what in ("benefit", "review"):
        _worked(garden, what)
    page = client.get("/g/ours/sheets/").content.decode()
    for name in ("benefit.html", "benefit.pdf", "evidence.html", "evidence.pdf", "thanks-cafe.pdf"):
        assert f"/g/ours/sheets/{name}" in page
        answer = client.get(f"/g/ours/sheets/{name}")
        assert answer.status_code == 200
        assert answer["Content-Type"] == sheets_page.MEDIA[name.rpartition(".")[2]]
    benefit = client.get("/g/ours/sheets/benefit.html").content.decode()
    assert "9.5" in benefit, "the load of 9.5 kg that was written down"
    assert client.get("/g/ours/sheets/thanks-../../secret.pdf").status_code == 404


def test_a_fact_sheet_is_made_and_kept_in_the_language_of_its_reader(
    garden: Any, client_of: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    composition = compose("coffee-spent", (), material="grounds", n=300, seed=1)
    prepared = SimpleNamespace(compositions={"grounds": composition}, reports={})
    seen = SimpleNamespace(prepared=prepared, garden=None, on=date(2027, 4, 20))
    made: list[str] = []
    monkeypatch.setattr(sheets_page, "sight_of", lambda _request: seen)
    monkeypatch.setattr(sheets_page, "pdf_one_page", lambda page: made.append(page.data["kind"]) or page.data["kind"].encode())  # fmt: skip
    client, route = client_of("reader"), reverse("pages:factsheet", args=["ours", "grounds"])
    for language, kind in (("fr", "Fiche d’une matière"), ("en", "Fact sheet of a material"), ("fr", "Fiche d’une matière")):  # fmt: skip
        assert client.get(route, headers={"accept-language": language}).content.decode() == kind
    assert made == ["Fiche d’une matière", "Fact sheet of a material"], "the second time in French it was kept"


def test_the_season_report_is_made_and_kept_in_the_language_of_its_reader(
    garden: Any, client_of: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = Page(Sheet(kind=say("Season plan"), title="Ours", lines=[], banner="", day="2027-04-20", foot="", sections=[]), Follow(Ledger()))  # fmt: skip
    made: list[object] = []
    monkeypatch.setattr(sheets_page, "sight_of", lambda _request: SimpleNamespace(solved="plan", on=date(2027, 4, 20)))
    monkeypatch.setattr(sheets_page, "season_page", lambda plan, on: made.append((plan, on)) or page)
    client = client_of("reader")
    for language, kind in (("fr", "Plan de saison"), ("en", "Season plan"), ("fr", "Plan de saison")):
        answer = client.get("/g/ours/sheets/season.html", headers={"accept-language": language}).content.decode()
        assert kind in answer and f'lang="{language}"' in answer
    assert len(made) == 2, "the second time in French it was kept"


def _trial(garden: Any) -> None:
    head = Head(name="mulch", question="Do leaves help lettuce?", control="bare", measured="fresh mass", unit="kg", seed=3, starts=date(2027, 5, 1), ends=date(2027, 6, 20))  # fmt: skip
    shapes = bed_shapes([Bed(id="north", name="North bed", area_m2=8)], {"north": (8.0, 1.0)})
    made = lay_out(head, [Treatment(id="bare", name="Bare"), Treatment(id="leaves", name="Leaves")], shapes, 3, None)
    ledger.add(garden, "trials", record_of(made).model_dump(), None)
    rows = [
        Reading(plot=one.id, treatment=one.treatment, measured_on=head.ends - timedelta(1), value=2.0 + at % 3 / 10 + (one.treatment == "leaves"))
        for at, one in enumerate(made.plots)
    ]  # fmt: skip
    for one in rows:
        ledger.add(garden, "trial_readings", reading_record("mulch", one).model_dump(), None)


def test_a_trial_has_its_map_and_says_what_it_shows(garden: Any, client_of: Browser) -> None:
    client = client_of("reader")
    _trial(garden)
    page = client.get("/g/ours/sheets/").content.decode()
    assert "Do leaves help lettuce?" in page
    assert "6 plots have readings, of 6." in page
    shows = client.get("/g/ours/sheets/trial-mulch.html")
    assert shows.status_code == 200
    assert "Leaves" in shows.content.decode()
    assert "Mark every plot with a stake" in client.get("/g/ours/sheets/trial-mulch-lay-out.html").content.decode()
    assert client.get("/g/ours/sheets/trial-other.html").status_code == 404


@pytest.mark.parametrize("path", ["tests", "what-if", "sheets"])
def test_a_page_of_answers_asks_the_database_little(garden: Any, client_of: Browser, path: str) -> None:
    client = client_of("owner")
    with CaptureQueriesContext(connection) as asked:
        assert client.get(f"/g/ours/{path}/").status_code == 200
    assert len(asked) - len(snapshot_questions(garden)) <= 8, [one["sql"][:120] for one in asked]


def snapshot_questions(garden: Any) -> list[Any]:
    with CaptureQueriesContext(connection) as asked:
        snapshot(garden)
    return list(asked.captured_queries)


def test_a_question_nobody_knows_is_not_there(garden: Any, client_of: Browser) -> None:
    assert client_of("grower").post("/g/ours/ask", {"what": "weather"}).status_code == 404
