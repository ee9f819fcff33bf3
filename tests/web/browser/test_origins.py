"""Every figure of every page opens where it comes from: how it was worked out, or the history of the record that says so."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.web.browser.test_every_page import PAGES, G, go

WITHOUT_ORIGIN = r"""() => {
  const UNIT = "kg|g/m²|kg/m²|g|L|m²|m³|cm|mm|%|°C|°F|h|min|buckets?|mg/kg|CAD|lb|gal|in|ft²|lb/1000 ft²";
  const FIGURE = new RegExp(`(?:^|[^\\p{L}\\d.,])[−-]?\\d[\\d.,\\u00a0\\u202f]*\\s?(?:${UNIT})(?![\\p{L}\\d])`, "u");
  // Findings open their own “why”, charts have their figures as a table, a form holds what somebody types; `data-told` marks
  // what stands beside its origin already: records in their list, values of a report beside what was printed.
  const OPENS = "a.why, a.kept, figure, .notice, .points, form, .between, dt, .origin-page, script, [data-told], header, footer, nav, svg";
  const out = [];
  const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode;
    if (FIGURE.test(node.textContent) && !node.parentElement.closest(OPENS)) out.push(node.textContent.trim().slice(0, 100));
  }
  for (const one of document.querySelectorAll("main .number"))
    if (!one.matches("a[href]") && !one.matches("[data-told]")) out.push(`no link: ${one.textContent}`);
  for (const one of document.querySelectorAll("main td.right"))
    if (/\d/.test(one.textContent) && !one.querySelector("a.why, a.kept, input, [data-told]") && !one.closest(OPENS)) out.push(`cell: ${one.textContent}`);
  return out;
}"""
LINKS = "[...document.querySelectorAll('a.why, a.kept')].map(one => one.getAttribute('href'))"
RICH = ("today", "another-week", "season", "beds", "bed", "heaps", "heap-built", "worms", "materials", "material")
"""Pages that show figures: a test that finds none there would be blind."""


def test_every_figure_opens_where_it_comes_from(opened: Any) -> None:
    page = opened()
    asked: set[str] = set()
    for name in PAGES:
        try:
            go(page, name)
        except pytest.skip.Exception:  # this plan builds no heap from now on
            continue
        assert page.evaluate(WITHOUT_ORIGIN) == [], name
        links = page.evaluate(LINKS)
        assert bool(links) or name not in RICH, name
        asked.update(links)
    assert len(asked) > 300
    assert _told(page, asked) > 300


def _told(page: Any, asked: set[str]) -> int:
    """Open every origin, and every origin these lead on to, and return how many there were."""
    seen, waiting = set(), sorted(asked)
    while waiting:
        url = waiting.pop()
        if url in seen:
            continue
        seen.add(url)
        answer = page.request.get(url, headers={"HX-Request": "true"})
        assert answer.status == 200, url
        text = answer.text()
        if "/kept/" in url:
            assert "/history" in answer.url, url
            continue
        assert "How it was worked out" in text or "Sources" in text, url
        waiting += [one.replace("&amp;", "&") for one in re.findall(r'class="why" href="([^"]+)"', text)]
    return len(seen)


def test_what_moves_when_an_amount_is_changed_says_why(opened: Any) -> None:
    page = opened()
    page.goto(f"{G}season/")
    lever = page.locator(".lever").first
    lever.focus()
    page.keyboard.press("PageUp")
    page.locator("#effects table").first.wait_for()
    assert page.evaluate(WITHOUT_ORIGIN) == []
    moved = page.locator("#effects a.why")
    assert moved.count() > 4
    _told(page, {one.get_attribute("href") for one in moved.all()})
    moved.nth(1).click()
    page.locator("dialog#origin").get_by_text("How it was worked out").wait_for()
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Throw the changes away").click()


def test_the_open_page_says_where_its_figures_come_from_but_names_nobody(opened: Any) -> None:
    page = opened()
    page.goto(f"{G}sheets/")
    page.get_by_role("button", name="Open the page to everybody").click()
    stranger = opened()
    stranger.goto("/open/fernmoor/")
    assert stranger.evaluate(WITHOUT_ORIGIN) == []
    links = stranger.evaluate(LINKS)
    assert len(links) > 20
    assert {one.split("?")[0] for one in links} == {"/open/fernmoor/origin/"}
    _told(stranger, set(links))
    assert stranger.locator("nav.places").count() == 0
    page.get_by_role("button", name="Close the page").click()
    assert page.request.get(links[0]).status == 404
