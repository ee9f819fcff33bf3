"""French pages are French: no sentence on them is the one of the English page, but for what people wrote and titles of sources."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.web.browser.test_every_page import PAGES, G, go

LONG = 4
"""A text of so many words is a sentence, not a name."""
TEXTS = r"""() => {
  const out = new Set(), skip = "script, style, .sources, [aria-hidden=true], option, .garden-name, .banner, del, ins";
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) if (!walk.currentNode.parentElement.closest(skip)) out.add(walk.currentNode.textContent.trim());
  for (const one of document.querySelectorAll("[aria-label], [title], [placeholder]"))
    if (!one.closest("[aria-hidden=true]"))
      for (const name of ["aria-label", "title", "placeholder"]) if (one.getAttribute(name)) out.add(one.getAttribute(name).trim());
  return [...out];
}"""
WRITTEN = re.compile(r"invented|Fernmoor|Worm box in the shed|Leaves of last autumn|Horse manure with straw")
"""What people of the demo garden wrote themselves."""
CITED = re.compile(
    r"\b(19|20)\d\d\b.*|CCME|CFR|^\([A-Z0-9-]{3,9}: |\d (mg/kg|kg/m3|%|dS/m)$|Guidelines|row \d|Cornell composting pages|Lab\b|\.csv|\.pdf|\.xlsx"
)
"""Names of sources and files, and what stands in them."""
SPECS = "[...document.querySelectorAll('script.spec')].map(one => one.textContent)"


def _long(texts: list[str]) -> set[str]:
    found = {one for one in texts if len(re.findall(r"[A-Za-zÀ-ÿ’']{2,}", one)) >= LONG}
    return {one for one in found if not WRITTEN.search(one) and not CITED.search(one)}


def test_no_english_sentence_is_left_on_a_french_page(opened: Any) -> None:
    english, french = opened(locale="en"), opened(locale="fr")
    left: dict[str, list[str]] = {}
    read = 0
    for name in PAGES:
        try:
            go(english, name)
            french.goto(english.url)
        except pytest.skip.Exception:  # this plan builds no heap from now on
            continue
        french.wait_for_load_state("networkidle")
        assert french.locator("html").get_attribute("lang") == "fr"
        said = _long(french.evaluate(TEXTS))
        read += len(said)
        if same := sorted(_long(english.evaluate(TEXTS)) & said):
            left[name] = same
    assert left == {}
    assert read > 500


def test_charts_are_drawn_in_french(opened: Any) -> None:
    page = opened(locale="fr")
    page.goto(f"{G}beds/north-border/")
    page.wait_for_load_state("networkidle")
    drawn = " ".join(page.locator("figure.chart svg text").all_text_contents())
    assert "Azote" in drawn
    assert "Nitrogen" not in drawn
    page.goto(f"{G}season/")
    page.wait_for_load_state("networkidle")
    assert "heures" in " ".join(page.locator("#chart-hours svg text").all_text_contents())
    assert "avr." in " ".join(page.locator("#chart-hours svg text").all_text_contents())
