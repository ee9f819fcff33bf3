"""The whole job with a keyboard alone: a report, a plan, an amount, a chore, a reading, the evidence. No mouse is touched."""

from __future__ import annotations

import re
from typing import Any

from tests.web.browser.test_whole_job import REPORT, P

MOST_TABS = 150


class Keys:
    """A person who has a keyboard and nothing else."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def to(self, wanted: Any) -> None:
        """Go on with Tab until something has the focus, seen by a ring or an outline."""
        wanted.first.wait_for(state="attached")
        self.page.wait_for_load_state("networkidle")  # of the page it stands on, which may still be coming in
        for _ in range(MOST_TABS):
            if wanted.first.evaluate("one => one === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"Tab never came to {wanted}")

    def press(self, wanted: Any, key: str = "Enter") -> None:
        """Go to something and press a key on it."""
        self.to(wanted)
        assert wanted.first.evaluate(SEEN), "what has the focus shows it"
        self.page.keyboard.press(key)
        self.page.wait_for_load_state("networkidle")

    def choose(self, select: Any, words: str) -> None:
        """Go to a list and type the beginning of what is wanted."""
        self.to(select)
        self.page.keyboard.type(words)


SEEN = """one => {
  const style = getComputedStyle(one), bar = one.querySelector("rect.bar");
  return style.outlineStyle !== "none" || style.boxShadow !== "none" || (bar && parseFloat(getComputedStyle(bar).strokeWidth) > 2);
}"""


def test_the_whole_job_needs_no_mouse(opened: Any) -> None:
    page = opened()
    keys = Keys(page)
    page.goto(P)
    _report(page, keys)
    _plan(page, keys)
    _amount(page, keys)
    _chore(page, keys)
    _reading(page, keys)
    _evidence(page, keys)


def _report(page: Any, keys: Keys) -> None:
    keys.press(page.get_by_role("link", name="Materials"))
    keys.press(page.get_by_role("link", name="Upload a laboratory report"))
    file = page.get_by_label("File of the laboratory")
    keys.to(file)
    with page.expect_file_chooser() as chooser:  # the system's own window begins here
        page.keyboard.press("Space")
    chooser.value.set_files({"name": "keys.csv", "mimeType": "text/csv", "buffer": REPORT})
    keys.choose(page.get_by_label("What it is about"), "Spent")
    keys.press(page.get_by_role("button", name="Upload and look through"))
    keys.press(page.get_by_role("button", name="Accept this report"))
    page.get_by_text("It counts from the next plan on").wait_for()


def _plan(page: Any, keys: Keys) -> None:
    keys.press(page.get_by_role("link", name="Season"))
    keys.press(page.get_by_role("button", name=re.compile("Plan the season|Solve again")))
    page.get_by_text("Show what came out").wait_for(timeout=170_000)
    keys.press(page.get_by_role("link", name="Show what came out"))
    page.locator(".season .lever").first.wait_for()


def _amount(page: Any, keys: Keys) -> None:
    lever = page.locator(".lever").first
    before = float(lever.get_attribute("aria-valuenow"))
    keys.press(lever, "ArrowUp")
    page.get_by_text("What moves", exact=True).wait_for()
    assert float(lever.get_attribute("aria-valuenow")) > before
    keys.press(page.locator("#effects a.why"))
    page.locator("dialog#origin").get_by_text("How it was worked out").wait_for()
    page.keyboard.press("Escape")
    keys.press(page.get_by_role("button", name="Throw the changes away"))


def _chore(page: Any, keys: Keys) -> None:
    keys.press(page.get_by_role("link", name="Today"))
    keys.press(page.locator(".weeks a").nth(1))
    keys.press(page.locator("button.tickbox"))
    page.get_by_text("Written down as planned.").wait_for()
    keys.press(page.get_by_role("button", name="Take this back"))


def _reading(page: Any, keys: Keys) -> None:
    keys.press(page.get_by_role("link", name="At the heap", exact=True))
    held = page.locator("#readings")
    keys.to(held.get_by_label("Temperature"))
    page.keyboard.type("55")
    keys.press(held.get_by_role("button", name="Keep"))
    held.locator("[role=status]", has_text="Kept").wait_for()
    page.locator("[data-here][data-left='0']").wait_for(state="attached", timeout=30_000)


def _evidence(page: Any, keys: Keys) -> None:
    keys.press(page.get_by_role("link", name="Evidence sheets"))
    link = page.get_by_role("link", name="PDF to print")
    answer = page.request.get(link.first.get_attribute("href"))
    assert answer.body().startswith(b"%PDF-")
    keys.press(page.get_by_role("link", name="Open", exact=True))
    page.get_by_role("heading", name="What to know first").wait_for()
