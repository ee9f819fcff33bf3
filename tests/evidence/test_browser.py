"""The report in a real browser: nothing fetched, nothing cut off, at a laptop's and a phone's width, light and dark."""

from pathlib import Path
from typing import Any

import pytest


def _opened(browser: Any, path: Path, width: int, scheme: str) -> tuple[Any, list[str], list[str]]:
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(path.as_uri())
    return page, said, [one for one in asked if not one.startswith("data:")]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_whole_and_quiet(browser: Any, written: Path, width: int, scheme: str) -> None:
    page, said, asked = _opened(browser, written / "season.html", width, scheme)
    assert said == []
    assert asked == [(written / "season.html").as_uri()]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    loose = page.evaluate(
        """() => [...document.querySelectorAll('main *')].filter(one => {
            if (one.closest('.scroll') || one.closest('svg') || one.closest('.hidden') || one.closest('details:not([open])')) return false;
            const box = one.getBoundingClientRect();
            return box.width > 0 && (box.right > innerWidth + 1 || box.left < -1);
        }).map(one => one.tagName + ' ' + one.className)"""
    )
    assert loose == []
    page.close()


def test_shipped_font_is_used(browser: Any, written: Path) -> None:
    page, _, _ = _opened(browser, written / "season.html", 1280, "light")
    assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('16px Karla'))") is True
    page.close()


def test_words_can_be_read_in_light_and_dark(browser: Any, written: Path) -> None:
    script = """() => {
        const luminance = c => { const [r, g, b] = c.match(/[\\d.]+/g).slice(0, 3).map(v => v / 255)
            .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
        const ground = one => { for (let at = one; at; at = at.parentElement) {
            const c = getComputedStyle(at).backgroundColor; if (!c.endsWith(', 0)') && c !== 'transparent') return c; }
            return 'rgb(255, 255, 255)'; };
        const low = [];
        for (const one of document.querySelectorAll('p, li, td, th, a, h1, h2, h3, h4, summary, figcaption, caption, dt, dd, span, strong')) {
            if (one.closest('svg') || !one.textContent.trim() || !one.getClientRects().length) continue;
            const [a, b] = [luminance(getComputedStyle(one).color), luminance(ground(one))].sort((x, y) => y - x);
            if ((a + 0.05) / (b + 0.05) < 4.5) low.push(one.tagName + '.' + one.className + ' ' + getComputedStyle(one).color + ground(one));
        }
        return [...new Set(low)];
    }"""
    for scheme in ("light", "dark"):
        page, _, _ = _opened(browser, written / "season.html", 1280, scheme)
        assert page.evaluate(script) == [], scheme
        page.close()


def test_a_number_leads_to_where_it_comes_from_by_keyboard(browser: Any, written: Path) -> None:
    page, _, _ = _opened(browser, written / "season.html", 1280, "light")
    link = page.locator("a.why").first
    target = str(link.get_attribute("href"))[1:]
    link.focus()
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    page.keyboard.press("Enter")
    page.wait_for_timeout(600)
    box = page.locator(f"#{target}").bounding_box()
    assert outline in ("solid", "auto")
    assert box is not None
    assert 0 <= box["y"] < 900
    page.close()
