"""Work in the background: one at a time, stopped when asked, not ended by the end of the page, told when it was cut off."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from loamery.season.prepare import prepare
from loamery.web.pages import foresee, later, work
from loamery.web.pages.sight import Reckoned
from loamery.web.pages.unfinished import MOST_TRIES, unfinished
from loamery.web.records import ledger
from loamery.web.records.models import Garden
from loamery.web.records.snapshot import snapshot
from tests.web.conftest import World

LONGEST_S = 300.0
SLEEPS = [sys.executable, "-c", "import time; time.sleep(300)"]
PAGE = (
    "import django, time; django.setup(); from loamery.web.pages import work; from loamery.web.records.models import Garden; \
work.start(Garden.objects.get(pk={pk})); print('begun', flush=True); time.sleep(300)"
)
RESTART = "import django; django.setup(); from loamery.web.pages.later import catch_up; catch_up()"


def wait(true: Callable[[], Any]) -> None:
    until = time.monotonic() + LONGEST_S
    while not true():
        assert time.monotonic() < until, "it took too long"
        time.sleep(0.05)


def told(garden: Garden) -> dict[str, Any]:
    return work.state(garden) or {}


@pytest.fixture
def garden(world: World) -> Iterator[Garden]:
    yield world.ours
    work.stop(world.ours)
    for one in work.place(world.ours.pk).iterdir():
        one.unlink() if one.is_file() else shutil.rmtree(one)


@pytest.fixture
def endless(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(work, "_command", lambda *_more: SLEEPS)


def pid(garden: Garden) -> int:
    return int((work.place(garden.pk) / work.PID).read_text())


@pytest.mark.usefixtures("endless")
def test_it_is_not_started_twice_and_stops_when_asked(garden: Garden) -> None:
    work.keep(garden, Reckoned(failure="kept before"))
    work.start(garden)
    first = pid(garden)
    work.start(garden)
    assert pid(garden) == first
    assert told(garden)["running"]
    with pytest.raises(CommandError, match="already"):
        call_command("reckon", str(garden.pk))
    work.stop(garden)
    assert work.state(garden) is None
    assert work.kept(garden)[0].failure == "kept before"
    with pytest.raises(ProcessLookupError):
        os.kill(first, 0)


@pytest.mark.usefixtures("endless")
def test_what_was_killed_is_told_on_the_page_and_can_be_started_again(garden: Garden, client_of: Any) -> None:
    work.start(garden)
    os.kill(pid(garden), signal.SIGKILL)
    wait(lambda: not told(garden)["running"])
    assert told(garden)["failed"]
    assert work.CUT_OFF in client_of("reader").get("/g/ours/season/work").content.decode()
    work.start(garden)
    assert told(garden)["running"]


@pytest.mark.usefixtures("endless")
def test_a_restart_takes_up_the_same_request_and_gives_up_what_fails_again(garden: Garden, client_of: Any) -> None:
    work.start(garden, "what-if", {"rain": 0.5}, "Ada")
    for tries in range(2, MOST_TRIES + 1):
        work.take_up_all()
        assert unfinished(work.place(garden.pk)).tries == tries - 1, "what still runs is left alone"
        os.kill(first := pid(garden), signal.SIGKILL)
        wait(lambda: not told(garden)["running"])
        work.take_up_all()
        request = unfinished(work.place(garden.pk))
        assert (request.what, request.asked, request.who, request.tries) == ("what-if", {"rain": 0.5}, "Ada", tries)
        assert pid(garden) != first
    os.kill(pid(garden), signal.SIGKILL)
    wait(lambda: not told(garden)["running"])
    work.take_up_all()
    assert unfinished(work.place(garden.pk)) is None
    assert "cut off 2 times" in client_of("reader").get("/g/ours/season/work").content.decode()
    work.take_up_all()
    assert not told(garden)["running"]
    work.start(garden)
    assert told(garden)["running"]
    assert "Making ready" in client_of("reader").get("/g/ours/").content.decode()
    work.stop(garden)
    assert unfinished(work.place(garden.pk)) is None


def test_what_was_asked_is_damaged_and_nothing_breaks(garden: Garden) -> None:
    for text in ("", "[]", '{"what": "plan"}', "{"):
        (work.place(garden.pk) / "asked.json").write_text(text)
        work.take_up_all()
        assert work.state(garden) is None


def test_a_reading_is_shown_at_once_and_learnt_in_the_background(
    garden: Garden, client_of: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(foresee, "DRAWS", 3)
    monkeypatch.setattr(foresee, "DAYS", 12)
    work.keep(garden, Reckoned(prepare(snapshot(garden)), charts={"metric": {}, "us": {}}))
    of = work.stamp(garden)
    work.run(garden, work.HEAPS)
    assert told(garden).get("done"), told(garden)
    page = client_of("logger").get("/g/ours/heaps/spring/").content.decode()
    assert "not yet in the forecast" not in page
    assert "41.25" not in page
    reading = {"batch": "spring", "on": "2027-04-16", "depth_m": 0.3, "temp_c": 41.25}
    ledger.add(garden, "readings", reading, None)
    garden.refresh_from_db()
    page = client_of("logger").get("/g/ours/heaps/spring/").content.decode()
    assert "not yet in the forecast" in page
    assert "41.25" in page, "the dot is in the chart"
    work.run(garden, work.HEAPS)
    page = client_of("logger").get("/g/ours/heaps/spring/").content.decode()
    assert "not yet in the forecast" not in page
    assert "41.25" in page
    assert work.stamp(garden) == of, "the plan, and what was changed by hand in it, stand"
    work.keep(garden, Reckoned(prepare(snapshot(garden)), charts={"metric": {}, "us": {}}))
    assert work.kept(garden)[0].heaps == {}, "another plan brings its own"


def test_many_readings_are_learnt_together_when_it_is_quiet(garden: Garden, monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[str] = []
    monkeypatch.setattr(later, "QUIET_S", 0.2)
    monkeypatch.setattr(later, "outdated", lambda *_more: True)
    monkeypatch.setattr(work, "start", lambda _garden, what: begun.append(what))
    later.heard(None, garden=garden, kind="readings")
    assert not later._waiting, "before there is a plan there is nothing to bring up to date"
    work.keep(garden, Reckoned())
    for kind in ("harvests", *["readings"] * 5):
        later.heard(None, garden=garden, kind=kind)
    wait(lambda: begun)
    time.sleep(0.4)
    assert begun == [work.HEAPS]


def test_a_number_of_a_process_that_was_given_away_again_is_not_mistaken(garden: Garden) -> None:
    folder = work.place(garden.pk)
    (folder / "state.json").write_text(json.dumps({"running": True, "percent": 40, "words": "solving", "at": 0.0}))
    (folder / work.PID).write_text(str(os.getppid()))
    assert told(garden)["failed"]
    work.stop(garden)  # and whoever has that number now lives on
    os.kill(os.getppid(), 0)


def test_the_work_goes_on_when_the_page_is_killed_and_what_was_cut_off_is_taken_up_by_the_next_page(
    garden: Garden,
) -> None:
    page = subprocess.Popen([sys.executable, "-c", PAGE.format(pk=garden.pk)], stdout=subprocess.PIPE, text=True)
    assert page.stdout is not None
    assert page.stdout.readline() == "begun\n"
    page.send_signal(signal.SIGKILL)
    page.wait()
    page.stdout.close()
    first = pid(garden)
    assert told(garden)["running"]
    work.start(garden)  # the page was started again, and somebody presses the button
    assert pid(garden) == first
    wait(lambda: told(garden)["percent"] > 0)
    os.kill(first, signal.SIGKILL)
    wait(lambda: not told(garden)["running"])
    assert told(garden)["failed"]
    assert work.stamp(garden) == 0
    subprocess.run([sys.executable, "-c", RESTART], check=True)
    assert pid(garden) != first
    wait(lambda: not told(garden)["running"])
    assert told(garden).get("done"), (work.place(garden.pk) / "log.txt").read_text()
    assert unfinished(work.place(garden.pk)) is None
    reckoned, fits = work.kept(garden)
    assert fits
    assert reckoned.plan is not None, reckoned.failure
