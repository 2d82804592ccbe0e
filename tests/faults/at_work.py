"""One booth, or the desk, of many that write at the same second: each is a process of its own.

A hand does so many deeds as fast as it is told that the one before is kept. What it was told, how
long that took and what was said of trouble is the result.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from httpx2 import Client

from panel.booth.aloud.booth import PlainBooth
from panel.booth.aloud.terminal import InputEnded
from panel.booth.app import BoothApp
from panel.booth.glass import GlassScreen
from panel.booth.hands import press, sign_in_by_keys, until
from panel.clock import utc_now
from panel.desk.app import DeskApp
from panel.seat.arriving import session_of_booths
from panel.seat.records import Records
from panel.serve.door import make_door
from panel.serve.running import listen, run
from panel.serve.served import Served
from panel.store.opening import open_store
from tests.desk.driving import seen, signed_in, until_so
from tests.faults.outcome import Change
from tests.faults.plain_kills import KEPT, LINES
from tests.faults.server_kills import Page
from tests.faults.terminal_nursery import score
from tests.houses.at_the_booth import CODES, NAME, PINS, WORDS

LEAD = "LD"
UNUSABLE = "cannot be used"
"""What every sentence about a database that is held, full or gone has in it."""
CALL_EVERY = 5
"""A browser calls the lead once in so many deeds, which the desk answers."""
LOOK_EVERY_S = 0.005


@dataclass
class Result:
    """What one of them was told."""

    kind: str
    who: str
    told: list[Change] = field(default_factory=list)
    took_s: list[float] = field(default_factory=list)
    calls: int = 0
    troubles: list[str] = field(default_factory=list)
    broke: str = ""

    def since(self, begun: float) -> None:
        self.took_s.append(time.perf_counter() - begun)


@dataclass(frozen=True)
class Gate:
    """Files by which all begin at once, and by which the desk and the server end."""

    folder: Path

    def ready(self, who: str) -> None:
        """Say that one is seated, and wait until all are."""
        (self.folder / f"ready {who}").touch()
        while not self.has("go"):
            time.sleep(LOOK_EVERY_S)

    def say(self, word: str) -> None:
        (self.folder / word).touch()

    def has(self, word: str) -> bool:
        return (self.folder / word).exists()

    def waiting(self) -> int:
        return sum(1 for _ in self.folder.glob("ready *"))


@dataclass(frozen=True)
class Work:
    """What is to be done: on which database, how often, and where the browsers' server is."""

    database: str
    deeds: int
    gate: Gate
    port: int = 0

    def chance(self, who: str) -> Random:
        return Random(who)


def at_terminal(work: Work, who: str) -> Result:
    """Sit at a booth in a terminal: its own screens and keys, without a terminal."""
    result = Result("terminal", who)
    asyncio.run(_by_keys(work, result))
    return result


async def _by_keys(work: Work, result: Result) -> None:
    app = BoothApp(lambda: open_store(work.database), session=NAME, clock=utc_now)
    chance = work.chance(result.who)

    def tell(line: str) -> None:
        what, _, rest = line.partition(" ")
        if what == "kept":
            name, _, value = rest.rpartition(" ")
            result.told.append((name, int(value)))

    async with app.run_test(size=(80, 24)):
        await until(app, lambda: app.records.are_open)
        await sign_in_by_keys(app, result.who, PINS[result.who])
        press(app, *CODES[0], "enter")
        await until(app, lambda: isinstance(app.screen, GlassScreen) and app.screen.ready)
        work.gate.ready(result.who)
        for _ in range(work.deeds):
            begun = time.perf_counter()
            glass = app.screen
            if not isinstance(glass, GlassScreen):
                raise TypeError(glass)
            await score(app, glass, chance, tell)
            result.since(begun)
            if app.keeper.trouble is not None:
                result.troubles.append(str(app.keeper.trouble))


@dataclass
class PlainHand:
    """A hand at a plain booth: it goes to a line, types, and hears what is kept."""

    work: Work
    result: Result
    answers: list[str]
    begun: float = 0.0
    done: int = 0
    now: dict[int, int] = field(default_factory=dict)

    def say(self, line: str) -> None:
        for each in line.splitlines():
            if (found := KEPT.fullmatch(each)) and found[1] in LINES:
                self.result.told.append((found[1], int(found[2])))
                self.result.since(self.begun)
            if each.startswith(("Attention: ", "Not kept")):
                self.result.troubles.append(each)

    def hear(self, within_s: float | None = None, *, unseen: bool = False) -> str | None:
        if not self.answers:
            self._go_on()
        return self.answers.pop(0)

    def _go_on(self) -> None:
        if not self.done:
            self.work.gate.ready(self.result.who)
            self.chance = self.work.chance(self.result.who)
        if self.done == self.work.deeds:
            raise InputEnded
        self.done += 1
        line = self.chance.randrange(len(WORDS))
        value = self.chance.choice([each for each in range(101) if each != self.now.get(line)])
        self.now[line] = value
        self.answers = [f"line {line + 1}", str(value)]
        self.begun = time.perf_counter()


def at_plain_booth(work: Work, who: str) -> Result:
    """Sit at the booth of questions and answers."""
    result = Result("plain", who)
    hand = PlainHand(work, result, [who, PINS[who], CODES[0]])
    PlainBooth(Records(lambda: open_store(work.database), NAME, utc_now), hand).run()
    return result


def at_browser(work: Work, who: str) -> Result:
    """Sit at a browser: the requests that its page sends."""
    result, chance = Result("browser", who), work.chance(who)
    base = f"http://127.0.0.1:{work.port}"
    code = (work.gate.folder / "code").read_text()
    with Client(base_url=base, headers={"origin": base}, follow_redirects=True) as client:
        page = Page(client, work.port, told=result.told, troubles=result.troubles)
        page.sit_down(code, who)
        work.gate.ready(who)
        now: dict[int, int] = {}
        for deed in range(work.deeds):
            line = chance.randint(1, len(WORDS))
            value = chance.choice([each for each in range(101) if each != now.get(line)])
            now[line] = value
            begun = time.perf_counter()
            page.score(line, value)
            result.since(begun)
            if deed % CALL_EVERY == 0:
                call = {**page.forms["call"], "reason": "water"}
                result.calls += page.post("/deed", call).status_code == 200
    return result


def at_server(work: Work, _who: str) -> Result:
    """Serve the browsers until all is done."""
    door = make_door("127.0.0.1", work.port)
    store = open_store(work.database)
    served = Served(store, session_of_booths(store, NAME), door, utc_now)
    (work.gate.folder / "code.new").write_text(served.joining.code)
    (work.gate.folder / "code.new").rename(work.gate.folder / "code")
    run(served, listen(door), lambda _line: None)
    return Result("server", "-")


def at_desk(work: Work, who: str) -> Result:
    """Follow the house at the desk, and answer whoever calls."""
    result = Result("desk", who)
    asyncio.run(_answer(work, result))
    return result


async def _answer(work: Work, result: Result) -> None:
    store = open_store(work.database)
    desk = signed_in(DeskApp(store, by=LEAD, clock=utc_now))
    async with desk.run_test(size=(80, 24)):
        await until_so(desk, lambda: desk.in_house and desk.looked is not None)
        work.gate.say(f"ready {result.who}")
        answered: set[int] = set()
        while not work.gate.has("done"):
            waiting = next((each for each in desk.calls if each.call.id not in answered), None)
            if waiting is not None:
                answered.add(waiting.call.id)
                await desk.answer(waiting).wait()
            result.troubles += [line for line in seen(desk) if UNUSABLE in line]
            await asyncio.sleep(0.1)
        result.calls = len(answered)
    store.close()


KINDS: dict[str, Callable[[Work, str], Result]] = {
    "terminal": at_terminal,
    "plain": at_plain_booth,
    "browser": at_browser,
}
