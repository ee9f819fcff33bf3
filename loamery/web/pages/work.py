"""Reckoning in the background: a process of its own, so that pages stay quick, with progress, a way to stop, and a kept result."""

from __future__ import annotations

import fcntl
import json
import os
import pickle
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone

from loamery import __version__
from loamery import say as said
from loamery.errors import LoameryError
from loamery.evidence.html import html_page
from loamery.evidence.pdf import pdf_page
from loamery.saving import save_bytes, save_text
from loamery.web.pages.asking import QUESTIONS, Asked, Progress, benefit_sheets, compare, find_tests, review_sheet
from loamery.web.pages.foresee import reckon
from loamery.web.pages.holds import first_day, held_in, keep_held, with_moves
from loamery.web.pages.learning import Anew, learn, outdated, with_heaps
from loamery.web.pages.sight import Reckoned
from loamery.web.pages.unfinished import MOST_TRIES, forget, gave_up, note, unfinished
from loamery.web.records.models import Garden
from loamery.web.records.snapshot import snapshot

FORM = f"{__version__}/5"
"""What was kept by another version of the program is reckoned anew, never read."""
STEPS = ("reading", "combining", "running", "blending", "solving", "checking", "foreseeing", "drawing")
KEPT = 16
MOVES, PID = "moves.json", "pid"
LOOK_S, LOOKS, STOP_S = 0.02, 10, 10.0
CUT_OFF = said.say("the work was cut off before it was done; start it again")
PLAN, HEAPS = "plan", "heaps"
WHOLE = "whole"
"""Asked with a plan: of the whole season, as if nothing had been done yet."""
WORK = (PLAN, HEAPS, *QUESTIONS)
READY = "making ready"
"""Said until the process that does the work has begun."""
COMPARED = 6
"""So many answers to what-if questions are kept."""


def place(garden_pk: int) -> Path:
    """Return the folder where what was reckoned for a garden is kept."""
    folder = Path(settings.DATA) / "reckoned" / str(garden_pk)
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def start(garden: Garden, what: str = PLAN, asked: Asked | None = None, who: object = "", *, tries: int = 1) -> None:
    """Begin to reckon a garden, unless work for it is going on already, started by whichever process.

    Parameters
    ----------
    what : the plan and everything that hangs on it, heaps that were written about, or one of `QUESTIONS`.
    asked : more about the question. who : who asked. tries : how often this was begun, this time included.
    """
    folder = place(garden.pk)
    if what == PLAN and (state(garden) or {}).get("what") == HEAPS:
        stop(garden)  # the plan foresees them anew, too
    held = claim(folder)
    if held is None:
        return
    try:
        (folder / PID).unlink(missing_ok=True)
        note(folder, what, asked, str(who), tries)
        _tell(folder, what, running=True, words=READY)
        named = {"DJANGO_SETTINGS_MODULE": os.environ.get("DJANGO_SETTINGS_MODULE", "loamery.web.settings")}
        with (folder / "log.txt").open("wb") as log:
            child = subprocess.Popen(
                _command(garden.pk, held, what, asked), stdout=log, stderr=log, stdin=subprocess.DEVNULL, start_new_session=True,
                pass_fds=(held,), env={**os.environ, **named},
            )  # fmt: skip
        save_text(folder / PID, str(child.pid))
        _children.append(child)
    finally:
        os.close(held)  # the child goes on holding it


def in_all(words: str) -> dict[str, Any]:
    """Return words for the file that says how far work is, in every language: a file does not keep what they were made of."""
    return {"words": words, "also": {code: said.told(words, code) for code, _name in settings.LANGUAGES}}


def take_up(garden: Garden) -> None:
    """Begin what was asked for and is not done, after a restart; what was cut off too often is told and left."""
    folder = place(garden.pk)
    request = unfinished(folder)
    if request is None or _busy(folder):
        return
    if request.what not in WORK or request.tries >= MOST_TRIES:
        forget(folder)
        _tell(folder, request.what, failed=True, **in_all(gave_up(request.tries)))
        return
    start(garden, request.what, request.asked, request.who, tries=request.tries + 1)


def take_up_all() -> None:
    """Begin everything that was asked for and is not done, of every garden."""
    for garden in Garden.objects.filter(removed_at=None).order_by("pk"):
        take_up(garden)


def _command(garden_pk: int, held: int, what: str, asked: Asked | None) -> list[str]:
    command = [sys.executable, "-m", "loamery.web", "reckon", str(garden_pk), "--held", str(held), "--what", what]
    return [*command, "--asked", json.dumps(asked)] if asked else command


_children: list[subprocess.Popen[bytes]] = []
"""Processes this one started, so that those that ended are taken leave of."""


def claim(folder: Path) -> int | None:
    """Return a file descriptor that stands for the only work on a garden, None when somebody holds it.

    Notes
    -----
    The lock is the system's: it goes with the process that does the work, however that ends, and with nothing else; a
    page that is stopped or killed does not end it, and no number of a process is mistaken for another's.
    """
    held = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    for _ in range(LOOKS):  # somebody who only looks holds it for a moment
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            time.sleep(LOOK_S)
        else:
            return held
    os.close(held)
    return None


def _busy(folder: Path) -> bool:
    _children[:] = [one for one in _children if one.poll() is None]
    held = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(held, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    finally:
        os.close(held)
    return False


def state(garden: Garden) -> dict[str, Any] | None:
    """Return how far the work is, None when there was none: what, running, done or failed, percent, words."""
    path = place(garden.pk) / "state.json"
    # looked at before the file is read: what ended in between has said so in it
    busy = _busy(path.parent)
    try:
        told = told_in(path.read_bytes())
    except FileNotFoundError:
        return None
    if told is None:
        return None
    if told.get("running") and not busy:
        told |= {"running": False, "failed": True, "words": CUT_OFF}
    return told


def told_in(text: bytes) -> dict[str, Any] | None:
    """Return what a small file says, None where it is damaged."""
    try:
        told = json.loads(text)
    except ValueError:
        return None
    return told if isinstance(told, dict) else None


def stop(garden: Garden) -> None:
    """End the work that is going on for a garden; what was kept before stays."""
    folder = place(garden.pk)
    for signal_ in (signal.SIGTERM, signal.SIGKILL):
        if not _busy(folder):
            break
        _signal(folder, signal_)
        until = time.monotonic() + STOP_S
        while _busy(folder) and time.monotonic() < until:
            time.sleep(LOOK_S)
    forget(folder)
    told = state(garden)
    if told and not told.get("done"):
        (folder / "state.json").unlink(missing_ok=True)


def _signal(folder: Path, which: signal.Signals) -> None:
    """Send a signal to the process that does the work, and to those it started."""
    with suppress(FileNotFoundError, ProcessLookupError):
        os.killpg(int((folder / PID).read_text(encoding="utf-8")), which)


def run(garden: Garden, what: str = PLAN, asked: Asked | None = None) -> None:
    """Reckon a garden and keep what came out; called in a process of its own. See `start`."""
    folder = place(garden.pk)
    seen: list[str] = []

    def tell(words: str) -> None:
        if words.split(" ")[0] not in seen:
            seen.append(words.split(" ")[0])
        done = min(STEPS.index(seen[-1]) if seen[-1] in STEPS else len(seen), len(STEPS))
        _tell(folder, what, running=True, percent=round(100 * done / (len(STEPS) + 1)), words=words)

    ended: dict[str, Any] = {"done": True}
    try:
        if what == PLAN:
            _plan(garden, tell, whole=bool((asked or {}).get(WHOLE)))
        elif what == HEAPS:
            _heaps(garden, tell)
        else:
            _answer(garden, what, asked or {}, tell)
    except LoameryError as error:
        ended = {"failed": True, **in_all(str(error))}
    forget(folder)
    _tell(folder, what, percent=100, **ended)


def _plan(garden: Garden, tell: Progress, *, whole: bool = False) -> None:
    folder, records, on = place(garden.pk), snapshot(garden), garden.today_is or timezone.localdate()
    held = with_moves(held_in(folder), kept(garden)[0].plan, moves(garden))
    keep(garden, reckon(records, tell, since=None if whole else first_day(records, on), held=held))
    keep_held(folder, held)


def _heaps(garden: Garden, tell: Progress) -> None:
    path = place(garden.pk) / HEAPS
    records, (reckoned, _fresh), of = snapshot(garden), kept(garden), stamp(garden)
    if outdated(records, reckoned):
        _save(path, garden.version, learn(records, reckoned, _since(path, of), of, tell))


def _since(path: Path, of: int) -> Anew | None:
    """Return the heaps foreseen since a plan was kept, None when none were."""
    found = _read(str(path), path.stat().st_mtime_ns)[1] if path.is_file() else None
    return found if found is not None and found.of == of else None


def _answer(garden: Garden, what: str, asked: Asked, tell: Progress) -> None:
    records, (reckoned, fresh) = snapshot(garden), kept(garden)
    on = garden.today_is or timezone.localdate()
    prepared = reckoned.prepared if fresh else None
    if what == "tests":
        keep_answer(garden, what, find_tests(records, prepared, garden.version, tell))
    elif what == "what-if":
        found = compare(records, prepared, garden.version, asked, tell)
        before = [one for one in answer(garden, what) or () if one.question != found.question]
        keep_answer(garden, what, [found, *before][:COMPARED])
    else:
        pages = (
            benefit_sheets(records, prepared, reckoned.plan, on, tell)
            if what == "benefit"
            else review_sheet(records, reckoned.plan, on, tell)
        )
        for name, page in pages.items():
            tell(f"printing {name}")
            for code, _language in settings.LANGUAGES:
                told = page.in_language(code)
                save_bytes(sheet_path(garden, f"{name}.html", code), html_page(told).encode())
                save_bytes(sheet_path(garden, f"{name}.pdf", code), pdf_page(told))


def answers(garden: Garden) -> Path:
    """Return the folder of what was answered for a garden."""
    folder = place(garden.pk) / "answers"
    folder.mkdir(exist_ok=True)
    return folder


def sheet_path(garden: Garden, name: str, language: str) -> Path:
    """Return where a sheet that was asked for is kept in a language."""
    return answers(garden) / in_language(name, language)


def in_language(name: str, language: str) -> str:
    """Return the name of a sheet's file with its language, e.g. ``season.fr.pdf``; the English one is named without."""
    stem, _dot, kind = name.rpartition(".")
    return name if language == said.ENGLISH else f"{stem}.{language}.{kind}"


def keep_answer(garden: Garden, what: str, found: object) -> None:
    """Keep the answer to a question."""
    _save(answers(garden) / what, garden.version, found)


def answer(garden: Garden, what: str) -> Any:
    """Return the answer to a question as it was kept, None when there is none."""
    path = answers(garden) / what
    return _read(str(path), path.stat().st_mtime_ns)[1] if path.is_file() else None


def keep(garden: Garden, reckoned: Reckoned) -> None:
    """Keep what was reckoned from a garden as it is now."""
    _save(place(garden.pk) / "reckoned", garden.version, reckoned)


def _save(path: Path, version: int, found: object) -> None:
    head = json.dumps({"form": FORM, "version": version}).encode() + b"\n"
    save_bytes(path, head + pickle.dumps(found, protocol=5))


def kept(garden: Garden) -> tuple[Reckoned, bool]:
    """Return what was last reckoned, and whether it rests on the records as they are now."""
    path = place(garden.pk) / "reckoned"
    if not path.is_file():
        return Reckoned(), True
    heaps = path.with_name(HEAPS)
    version, found = _whole(path, path.stat().st_mtime_ns, heaps.stat().st_mtime_ns if heaps.is_file() else 0)
    return found or Reckoned(), version == garden.version


@lru_cache(maxsize=KEPT)
def _whole(path: Path, changed_ns: int, _heaps_ns: int) -> tuple[int, Reckoned | None]:
    """Return the plan with the heaps that were foreseen since, and the version of the records the plan rests on."""
    version, found = _read(str(path), changed_ns)
    anew = _since(path.with_name(HEAPS), changed_ns)
    return version, found if found is None or anew is None else with_heaps(found, anew)


@lru_cache(maxsize=KEPT)
def _read(path: str, _changed_ns: int) -> tuple[int, Any]:
    """Return the version of the records and what was reckoned from them, None when it cannot be read; only this program writes these files."""
    head, _newline, body = Path(path).read_bytes().partition(b"\n")
    told = told_in(head)
    if told is None or told.get("form") != FORM:
        return -1, None
    try:
        return int(told["version"]), pickle.loads(body)
    except (pickle.UnpicklingError, EOFError):  # cut short: as good as not there
        return -1, None


def moves(garden: Garden) -> dict[int, tuple[float, int]]:
    """Return the amounts changed by hand in the plan that is kept: place of the action to kg and week."""
    path = place(garden.pk) / MOVES
    if not path.is_file():
        return {}
    told = told_in(path.read_bytes())
    if told is None or told.get("of") != stamp(garden):
        return {}
    return {int(index): (float(kg), int(week)) for index, (kg, week) in told["moves"].items()}


def keep_moves(garden: Garden, changes: Mapping[int, tuple[float, int]]) -> None:
    """Keep the amounts changed by hand; the next plan is solved around them."""
    save_text(place(garden.pk) / MOVES, json.dumps({"of": stamp(garden), "moves": changes}))


def stamp(garden: Garden) -> int:
    """Return a number that changes with every plan that is kept."""
    path = place(garden.pk) / "reckoned"
    return path.stat().st_mtime_ns if path.is_file() else 0


def _tell(folder: Path, what: str, **told: object) -> None:
    save_text(folder / "state.json", json.dumps({"what": what, "running": False, "percent": 0, "words": "", **told}))
