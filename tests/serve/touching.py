"""A server in a thread, and a tablet whose fingers go through a real browser."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, expect

from panel.serve.running import BoothServer, listen, server_of
from panel.serve.served import Served
from tests.houses.at_the_booth import PINS

PATIENCE_MS = 20_000
"""A machine that runs other tests besides is slow; nothing here is a matter of time."""
expect.set_options(timeout=PATIENCE_MS)
TARGETS = """() => {
  const found = [], told = one => `${one.tagName} ${one.id || one.name || one.textContent.trim()}`;
  const seen = [...document.querySelectorAll('button, summary, input, textarea, a')].filter(
    one => one.checkVisibility() && one.type !== 'hidden');
  const boxes = seen.map(one => [one, one.getBoundingClientRect()]);
  boxes.forEach(([one, a], at) => {
    if (a.height < 44 || a.width < 44) found.push(`small ${told(one)} ${a.width}x${a.height}`);
    if (a.left < 0 || a.right > innerWidth) found.push(`out ${told(one)}`);
    if (parseFloat(getComputedStyle(one).fontSize) < 20) found.push(`letters ${told(one)}`);
    const label = one.labels?.[0]?.textContent || one.getAttribute('aria-label') || one.textContent;
    if (!label.trim()) found.push(`unnamed ${told(one)}`);
    boxes.slice(at + 1).forEach(([other, b]) => {
      if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1
          && b.top < a.bottom - 1) found.push(`over ${told(one)} / ${told(other)}`);
    });
  });
  return [found, boxes.length];
}"""
"""What a wet thumb would miss: too small, out of sight, one over another, or without a name."""
SIZES = {"tablet": (800, 1280), "phone": (360, 740)}


@dataclass
class Running:
    """A server in a thread, at a port that stays its own when it is started again."""

    served: Served
    console: list[str] = field(default_factory=list)
    _server: BoothServer | None = None
    _thread: threading.Thread | None = None

    def start(self) -> None:
        sock = listen(self.served.door)
        self.served.door = self.served.door.at_port(sock.getsockname()[1])
        server = self._server = server_of(self.served)
        self._thread = threading.Thread(target=lambda: asyncio.run(server.serve(sockets=[sock])))
        self._thread.start()
        while not server.started:
            time.sleep(0.01)

    def stop(self) -> None:
        if self._server is None or self._thread is None:
            return
        self._server.should_exit = self._server.force_exit = True
        self._thread.join()

    def page(self, context: BrowserContext) -> Page:
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("console", self.heard)
        page.on("pageerror", lambda error: self.console.append(str(error)))
        page.goto(self.served.door.origin)
        return page

    def heard(self, message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            self.console.append(message.text)

    def seat(self, context: BrowserContext, who: str = "A1") -> Page:
        page = self.arrive(context, who)
        page.wait_for_selector("#take")
        page.wait_for_load_state()
        return page

    def arrive(self, context: BrowserContext, who: str = "A1") -> Page:
        """Join and sign in."""
        page = self.page(context)
        self.join(page)
        self.sign_in(page, who)
        return page

    def join(self, page: Page) -> None:
        page.fill("#code", self.served.joining.code)
        page.tap("button.main")
        page.wait_for_selector("#pin")
        page.wait_for_load_state()

    def sign_in(self, page: Page, who: str = "A1") -> None:
        page.fill("#pin", PINS[who])
        page.fill("#code", who)
        page.tap("button.main")


@contextmanager
def tablet(browser: Browser, size: str = "tablet") -> Iterator[BrowserContext]:
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, has_touch=True)
    yield context
    context.close()


def take(page: Page, code: str = "538") -> None:
    page.fill("#code", code)
    page.tap("#take button")
    page.wait_for_selector(".line")


def touch(page: Page, line: int, share: float) -> None:
    """Set a line by a finger on it."""
    slide = page.locator(".line input[type=range]").nth(line)
    slide.scroll_into_view_if_needed()
    box = slide.bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] * share, box["y"] + box["height"] / 2)


def shown(page: Page, line: int) -> str:
    return page.locator(".line .value").nth(line).input_value()


SHELVES = """async work => {
  const base = await new Promise(done => {
    const asked = indexedDB.open("oakpanel", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("unsent");
    asked.onsuccess = () => done(asked.result);
  });
  const shelf = base.transaction("unsent", "readwrite").objectStore("unsent");
  if (work) work.forEach(([name, deeds]) => shelf.put(deeds, name));
  const names = shelf.getAllKeys(), deeds = shelf.getAll();
  await new Promise(done => { shelf.transaction.oncomplete = done; });
  base.close();
  return names.result.map((name, at) => [name, deeds.result[at]]);
}"""


def shelves(page: Page) -> list[list[object]]:
    """Return what lies unsent in a browser: under which seat and sign-in, and the deeds."""
    return list(page.evaluate(SHELVES))


def lay(page: Page, held: list[list[object]]) -> None:
    """Have unsent deeds lie in a browser."""
    page.evaluate(SHELVES, held)
