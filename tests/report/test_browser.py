"""Pages in a real browser: nothing leaves them, nothing is cut or too pale, and they print."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from shutil import which

import pytest
from playwright.sync_api import Browser, Page, Route, sync_playwright

from tests.report import hard, hard_releases, hard_stock
from tests.thinned import some

HERE = "http://page.test/"
WIDTHS = (360, 800, 1280)
PAGES = {
    "session": hard.session,
    "casks": hard.four_hundred_casks,
    "cask": hard.cask,
    "guest": hard_releases.guest,
    "guide": hard_releases.guide,
    "cards": hard_releases.cards,
    "paper": hard_releases.paper,
    "guests": hard_releases.guests,
    "target": hard_stock.target,
    "influences": hard_stock.influences,
    "blend": hard_stock.blend,
}
PRINTED_PX = (673, 933)
"""Width of A4 and height of Letter between margins of 16 mm, at 96 to the inch."""
ONE_PAGE = ("guest", "paper")
"""What lies on the table before a guest is one sheet of paper."""
KIB = 1024
MEASURED = """() => {
  const found = [], wide = document.documentElement;
  const told = one => `${one.tagName}: ${one.textContent.trim().slice(0, 40)}`;
  const seen = one => one.getClientRects().length > 0;
  if (wide.scrollWidth > wide.clientWidth) found.push(`page ${wide.scrollWidth}`);
  for (const one of document.querySelectorAll('main *:not(svg *)')) {
    const box = one.getBoundingClientRect();
    if (!seen(one) || box.width <= 1 || one.closest('thead')?.clientWidth <= 1) continue;
    if (box.left < -0.5 || box.right > innerWidth + 0.5) found.push(`out ${told(one)}`);
    if (one.scrollWidth > one.clientWidth + 1 && one.clientWidth) found.push(`cut ${told(one)}`);
  }
  for (const row of document.querySelectorAll('tr')) {
    const cells = [...row.children].filter(seen).map(one => one.getBoundingClientRect());
    cells.forEach((a, at) => cells.slice(at + 1).forEach(b => {
      if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1
          && b.top < a.bottom - 1) found.push(`over ${told(row)}`);
    }));
  }
  for (const svg of document.querySelectorAll('svg')) {
    if (!seen(svg)) continue;
    const frame = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll('text')].map(one => [one, one.getBoundingClientRect()]);
    texts.forEach(([one, a], at) => {
      if (a.left < frame.left - 1 || a.right > frame.right + 1) found.push(`cut ${told(one)}`);
      texts.slice(at + 1).forEach(([other, b]) => {
        if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 5
            && b.top < a.bottom - 5) found.push(`over ${told(one)} / ${told(other)}`);
      });
    });
  }
  return found;
}"""
"""What is wider than its place or lies over something else; rows of letters may touch."""
PALE = """() => {
  const parts = text => text.match(/[\\d.]+/g).map(Number);
  const light = rgb => rgb.slice(0, 3).map(part => part / 255).map(
    part => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4
  ).reduce((sum, part, at) => sum + part * [0.2126, 0.7152, 0.0722][at], 0);
  const ground = one => {
    for (let at = one; at; at = at.parentElement) {
      const said = parts(getComputedStyle(at).backgroundColor);
      if (said.length === 3 || said[3] > 0) return said;
    }
  };
  const found = new Set(), ratios = [];
  for (const one of document.querySelectorAll('main *')) {
    const own = [...one.childNodes].some(node => node.nodeType === 3 && node.data.trim());
    if (!own || !one.getClientRects().length) continue;
    const svg = one.closest('svg');
    if (svg && one.tagName !== 'text') continue;
    const ink = parts(getComputedStyle(one)[svg ? 'fill' : 'color']);
    const paper = svg ? parts(getComputedStyle(svg.querySelector('.paper')).fill) : ground(one);
    const [low, high] = [light(ink), light(paper)].sort((a, b) => a - b);
    const ratio = (high + 0.05) / (low + 0.05);
    ratios.push(ratio);
    if (ratio < 4.5) found.add(`${one.tagName}.${one.className} ${ratio.toFixed(2)}`);
  }
  return [[...found], ratios.length];
}"""
"""Texts of a contrast below 4.5 to 1 (WCAG 2.1, 1.4.3, whose formula this is), and how many."""


@dataclass
class Told:
    """What a page said or asked for."""

    console: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Give the distribution's Chromium, or say that it is missing."""
    found = which("chromium") or which("chromium-browser") or which("google-chrome")
    if found is None:
        pytest.skip("no Chromium is installed here: `apt-get install chromium`")
    with sync_playwright() as driver:
        # Its own sandbox cannot be made by root, who runs the tests in a container.
        opened = driver.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return {name: make() for name, make in PAGES.items()}


def shown(browser: Browser, html: str, told: Told, *, dark: bool = False) -> Page:
    """Open a page that can reach nothing, and note whatever it tries."""
    page = browser.new_page(color_scheme="dark" if dark else "light")

    def answer(route: Route) -> None:
        if route.request.url == HERE:
            route.fulfill(body=html, content_type="text/html; charset=utf-8")
            return
        told.asked.append(route.request.url)
        route.abort()

    page.route("**/*", answer)
    page.on("console", lambda message: told.console.append(message.text))
    page.on("pageerror", lambda error: told.console.append(str(error)))
    page.on("dialog", lambda dialog: told.console.append(dialog.message))
    page.goto(HERE)
    return page


@pytest.mark.parametrize("name", some(PAGES, 4))
def test_a_page_fits_every_width_keeps_to_itself_and_prints(
    browser: Browser, pages: dict[str, str], name: str
) -> None:
    told = Told()
    html = pages[name]
    assert len(html.encode()) < 300 * KIB
    page = shown(browser, html, told)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(MEASURED) == []
    for paper in ("A4", "Letter"):
        printed = page.pdf(format=paper, tagged=True)
        assert printed.startswith(b"%PDF-")
        sheets = len(re.findall(rb"/Type\s*/Page\b", printed))
        assert sheets == 1 if name in ONE_PAGE else sheets >= 1
        assert b"/StructTreeRoot" in printed
    page.close()
    # The browser asks for the sign of a site by itself; nothing else may be asked for.
    assert [url for url in told.asked if not url.endswith("/favicon.ico")] == []
    assert told.console == []


@pytest.mark.slow
def test_the_first_picture_prints_below_the_opening(
    browser: Browser, pages: dict[str, str]
) -> None:
    page = shown(browser, pages["guide"], Told())
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PRINTED_PX[0], "height": PRINTED_PX[1]})
    ends = page.evaluate(
        "document.querySelector('.opening + .picture').getBoundingClientRect().bottom"
    )
    assert 0 < ends < PRINTED_PX[1]
    page.close()


@pytest.mark.slow
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_letters_stand_out_from_the_paper(
    browser: Browser, pages: dict[str, str], dark: bool
) -> None:
    told = Told()
    page = shown(browser, pages["session"], told, dark=dark)
    pale, texts = page.evaluate(PALE)
    assert (pale, texts > 100) == ([], True)
    page.close()


@pytest.mark.slow
def test_every_picture_is_told_and_headings_are_in_order(
    browser: Browser, pages: dict[str, str]
) -> None:
    page = shown(browser, pages["session"], Told())
    pictures = page.evaluate(
        "[...document.querySelectorAll('svg')].map(one => [one.getAttribute('role'), "
        "...['title', 'desc'].map(tag => one.querySelector(':scope > ' + tag).textContent)])"
    )
    assert pictures
    assert all(role == "img" and title and said for role, title, said in pictures)
    levels = page.evaluate("[...document.querySelectorAll('h1,h2,h3')].map(one => +one.tagName[1])")
    assert levels[0] == 1
    assert max(b - a for a, b in pairwise(levels)) <= 1
    page.close()


@pytest.mark.slow
def test_what_was_written_is_text_and_never_runs(browser: Browser, pages: dict[str, str]) -> None:
    told = Told()
    page = shown(browser, pages["cask"], told)
    assert page.evaluate("document.scripts.length") == 0
    assert hard.SAID.split("&", maxsplit=1)[0].strip() in page.inner_text("main")
    # A script that got in all the same would be refused by the page's own policy.
    page.evaluate("document.body.append(Object.assign(document.createElement('img'), {src: '/x'}))")
    page.wait_for_function("document.images[0].complete")
    page.close()
    assert [url for url in told.asked if url.endswith("/x")] == []
    assert any("Content Security Policy" in words for words in told.console)
