"""The whole job as a person does it: a report, a plan, a change, a chore, readings without a network, the evidence."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

import pytest

P = "/g/patch/"
REPORT = b"""Invented laboratory,,
Sample,Spent grounds (invented),
Sampled,2027-03-30,
Analyte,Result,Unit
Total nitrogen (dry),2.2,%
Total phosphorus (P) (dry),0.15,%
Total potassium (K) (dry),0.60,%
Moisture,61,%
pH,5.8,
"""
PHOTO = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63606060000000040001f61738550000000049454e44ae426082"
)


@pytest.mark.parametrize("width", [1280, 390])
def test_from_the_report_to_the_evidence(opened: Any, width: int) -> None:
    page = opened(width, has_touch=width < 600)
    _upload(page)
    _accept(page)
    _plan(page)
    _change(page)
    _chore(page)
    _print(page)


def _upload(page: Any) -> None:
    page.goto(f"{P}reports/upload")
    page.get_by_label("File of the laboratory").set_input_files(
        {"name": "grounds.csv", "mimeType": "text/csv", "buffer": REPORT}
    )
    page.get_by_label("What it is about").select_option("material:grounds")
    page.get_by_role("button", name="Upload and look through").click()
    assert page.get_by_text("not accepted yet").is_visible()


def _accept(page: Any) -> None:
    assert page.get_by_role("row", name=re.compile("Nitrogen, total")).get_by_text("2.2 %").first.is_visible()
    page.get_by_role("button", name="Accept this report").click()
    assert page.get_by_text("It counts from the next plan on").is_visible()


def _plan(page: Any) -> None:
    page.goto(f"{P}season/")
    page.get_by_role("button", name=re.compile("Plan the season|Solve again")).click()
    page.get_by_text("Show what came out").wait_for(timeout=170_000)
    page.get_by_role("link", name="Show what came out").click()
    assert page.locator(".season .lever").count() > 0


def _change(page: Any) -> None:
    lever = page.locator(".lever").first
    before = float(lever.get_attribute("aria-valuenow"))
    lever.focus()
    for _ in range(5):
        page.keyboard.press("ArrowUp")
    page.get_by_text("What moves", exact=True).wait_for()
    assert float(lever.get_attribute("aria-valuenow")) == pytest.approx(before + 5, abs=0.2)
    _drag(page)
    page.get_by_text(re.compile("2 amounts changed")).wait_for()
    page.reload()
    assert page.get_by_text(re.compile("2 amounts changed")).is_visible(), "changes are kept"
    page.get_by_role("button", name="Throw the changes away").click()
    assert page.get_by_text("amounts changed").count() == 0


def _drag(page: Any) -> None:
    """Drag the second amount up; again where what the keys changed is drawn anew under the pointer."""
    changed = page.get_by_text(re.compile("2 amounts changed"))
    for _ in range(4):
        page.wait_for_timeout(1000)
        reach = page.locator(".lever rect.reach").nth(1)
        # clear of the bar at a phone's foot
        reach.evaluate("one => one.scrollIntoView({ block: 'center', behavior: 'instant' })")
        box = reach.bounding_box()
        _pull(page, box["x"] + 4, box["y"] + box["height"] - 5, 35)
        for _ in range(10):
            if changed.count():
                return
            page.wait_for_timeout(300)


def _pull(page: Any, x: float, y: float, up: float) -> None:
    """Pull a place upwards: by finger where there is a touch screen, by mouse elsewhere."""
    if not page.evaluate("navigator.maxTouchPoints > 0"):
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x, y - up, steps=4)
        page.mouse.up()
        return
    finger = page.context.new_cdp_session(page)
    for kind, at in (("touchStart", 0.0), *(("touchMove", part * up / 4) for part in range(1, 5))):
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y - at}]})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    finger.detach()


def _chore(page: Any) -> None:
    page.goto(f"{P}?week=1")
    ticks = page.locator("button.tickbox")
    open_before = ticks.count()
    assert open_before > 0
    ticks.first.focus()
    page.keyboard.press("Enter")
    page.wait_for_load_state("networkidle")
    assert page.get_by_text("Written down as planned.").is_visible()
    assert page.locator("button.tickbox").count() < open_before
    page.goto(f"{P}changes")
    page.get_by_role("button", name=re.compile("Take this change back")).first.click()
    page.goto(f"{P}?week=1")
    assert page.locator("button.tickbox").count() == open_before


def _print(page: Any) -> None:
    page.goto(f"{P}sheets/")
    answer = page.request.get(page.get_by_role("link", name="PDF to print").get_attribute("href"))
    assert answer.ok
    assert answer.body().startswith(b"%PDF-")
    page.get_by_role("link", name="Open", exact=True).click()
    assert page.get_by_role("heading", name="What to know first").is_visible()
    assert page.evaluate("getComputedStyle(document.querySelector('.head h1')).fontFamily").startswith("Karla")


def _left(page: Any, count: int) -> None:
    """Wait until so many records wait on the phone."""
    page.locator(f"[data-here][data-left='{count}']").wait_for(state="attached", timeout=30_000)


def _until(true: Callable[[], bool]) -> None:
    for _ in range(100):
        if true():
            return
        time.sleep(0.1)
    raise AssertionError("it did not come true")


def _readings(page: Any) -> list[str]:
    page.goto(f"{P}records/readings")
    return [one.inner_text() for one in page.locator("tbody tr").all()]


def test_at_the_heap_without_a_network(opened: Any) -> None:
    """Kept first, sent later: once, in the order written, with the photo; a page opened without a network works."""
    page = opened(390)
    held = len(_readings(page))
    page.goto(f"{P}here/")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    _until(lambda: page.evaluate("navigator.serviceWorker.controller !== null"))
    page.context.set_offline(True)
    page.goto(f"{P}here/")
    assert page.get_by_role("heading", name="At the heap").is_visible()
    for number, temp in enumerate(("41", "52", "61")):
        page.locator("#readings").get_by_label("Temperature").fill(temp)
        if number == 0:
            page.locator("#readings").get_by_label("Photo").set_input_files(
                {"name": "heap.png", "mimeType": "image/png", "buffer": PHOTO}
            )
        page.locator("#readings").get_by_role("button", name="Keep").click()
        _left(page, number + 1)
    assert "3 kept on this phone" in page.locator("#net").inner_text()
    page.reload()
    _left(page, 3)
    page.context.set_offline(False)
    _left(page, 0)
    rows = _readings(page)
    assert len(rows) == held + 3
    temps = [re.search(r"(\d+)\s°C", row)[1] for row in rows[:3]]  # type: ignore[index]
    assert temps == ["61", "52", "41"], "newest first, so in the order written"
    assert "photo" in rows[2]


def test_what_was_sent_but_not_acknowledged_is_not_written_twice(opened: Any) -> None:
    page = opened(390)
    held = len(_readings(page))
    page.goto(f"{P}here/")
    page.wait_for_load_state("networkidle")
    lost: list[str] = []

    def lose_the_first_answer(route: Any) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.request.url)
        route.fetch()  # it arrives and is written, but the phone never hears of it
        route.abort("internetdisconnected")

    page.route("**/here/send", lose_the_first_answer)
    page.locator("#readings").get_by_label("Temperature").fill("57")
    page.locator("#readings").get_by_role("button", name="Keep").click()
    page.locator("#readings [role=status]", has_text="Kept").wait_for()
    page.wait_for_timeout(500)
    page.get_by_role("button", name="Send now").click()
    _left(page, 0)
    assert len(lost) == 1
    assert len(_readings(page)) == held + 1


def test_what_is_refused_waits_for_its_writer_and_holds_nothing_up(opened: Any) -> None:
    page = opened(390)
    held = len(_readings(page))
    page.goto(f"{P}here/")
    for temp in ("900", "44"):
        page.locator("#readings").get_by_label("Temperature").fill(temp)
        page.locator("#readings").get_by_role("button", name="Keep").click()
        page.wait_for_timeout(400)
    page.get_by_role("button", name="Throw away").wait_for()
    _left(page, 1)
    page.get_by_role("button", name="Throw away").click()
    _left(page, 0)
    assert len(_readings(page)) == held + 1


def test_the_open_page_shows_the_evidence_only_while_it_is_open(opened: Any) -> None:
    page = opened()
    assert page.request.get("/open/fernmoor/").status == 404
    page.goto("/g/fernmoor/sheets/")
    page.get_by_role("button", name="Open the page to everybody").click()
    stranger = opened()
    stranger.goto("/open/fernmoor/")
    assert stranger.get_by_role("heading", name=re.compile("Fernmoor")).is_visible()
    text = stranger.locator("main").inner_text()
    assert not re.search(r"me@localhost|\.jpg", text)
    page.get_by_role("button", name="Close the page").click()
    assert page.request.get("/open/fernmoor/").status == 404
