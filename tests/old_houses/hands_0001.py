"""The hands that filled the kept house of revision 0001: the command line and the booths.

Modules of the program are imported by name: they are those of revision 0001, and a later program
may have none of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from tests.old_houses.records_0001 import NOTES, score

PIN = "2846"
MINUTE = timedelta(minutes=1)


class Clock:
    """A minute passes at every look; an evening begins where it is set."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 1, 10, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.moment += MINUTE
        return self.moment

    def begin(self, evening: str) -> None:
        self.moment = datetime.fromisoformat(f"{evening}T18:00:00+00:00")


class House:
    """The program at one database, and the hands that use it."""

    def __init__(self, named: str, folder: Path) -> None:
        self.named, self.folder, self.clock = named, folder, Clock()
        self.main = import_module("panel.cli.main")
        self.booth = import_module("panel.store.booth_queries")
        self.scoring = import_module("panel.session.scoring")
        call = import_module("panel.cli.invocation").Invocation
        vars(self.main)["Invocation"] = partial(call, clock=self.clock)

    def do(self, *words: str, by: str = "Heron", typed: str = "") -> str:
        said = CliRunner().invoke(
            self.main.group, ["--db", self.named, "--by", by, *words], input=typed
        )
        if said.exit_code:
            raise RuntimeError(f"{words}: {said.output} {said.exception}")
        return said.stdout

    def load(self, kind: str, text: str, *words: str) -> None:
        file = self.folder / f"{kind}.csv"
        file.write_text(text, encoding="utf-8")
        self.do("load", kind, str(file), *words)

    @contextmanager
    def opened(self) -> Iterator[Any]:
        store = import_module("panel.store.opening").open_store(self.named)
        yield store
        store.close()

    def rows(self, sql: str, **values: object) -> list[Any]:
        with self.opened() as store, store.read() as db:
            return list(db.execute(import_module("sqlalchemy").text(sql), values))


Act = Callable[[House, Any, Any, int], None]
KEY = """
SELECT k.code, d.label, k.replicate FROM key_row k JOIN draw d ON d.id = k.draw_id
JOIN panel_session s ON s.id = k.session_id WHERE s.name = :session AND k.tray IN ('', :who)
"""


def plan(house: House, name: str, day: str, casks: tuple[str, ...], *more: str) -> None:
    words = [word for cask in casks for word in ("--draw", f"{cask} 2026")]
    if "--own-words" not in more:
        words += [word for note in NOTES for word in ("--descriptor", note)]
    house.do("session", "plan", name, "--held-on", day, *words, *more)


def people(*codes: str) -> tuple[str, ...]:
    return tuple(word for code in codes for word in ("--assessor", code))


def begin(house: House, name: str, day: str, *, printer: str = "Willow") -> None:
    house.clock.begin(day)
    house.do("session", "seal", name)
    house.do("session", "sheets", name, "--insist", by=printer)
    house.do("session", "open", name)


def nose(
    house: House,
    name: str,
    who: str,
    *,
    most: int | None = None,
    notes: Mapping[str, str] | None = None,
) -> None:
    """Sit down at a booth and save whole glasses in order; `notes` says what own words mean."""
    meant = notes or {}
    key = {code: (label, n) for code, label, n in house.rows(KEY, session=name, who=who)}
    with house.opened() as store:
        seat = house.booth.sign_in(store, name, who, PIN, now=house.clock(), place="booth 1")
        with store.read() as db:
            sheet = house.booth.tray(db, seat)
        for glass in house.scoring.poured(sheet)[:most]:
            if glass.finished_at is None:
                label, replicate = key[glass.code]
                values = {
                    line.version_id: score(
                        name, who, label, replicate, meant.get(line.name, line.name)
                    )
                    for line in sheet.lines
                }
                with store.write() as db:
                    times = {"taken_at": house.clock(), "finished_at": house.clock()}
                    house.booth.save_glass(db, seat, glass.code, values, **times)


def first_glass(house: House, name: str, who: str, *acts: Act) -> str:
    """Take the first glass, score it line by line, do *acts* with it; return its code."""
    with house.opened() as store:
        seat = house.booth.sign_in(store, name, who, PIN, now=house.clock())
        with store.read() as db:
            sheet = house.booth.tray(db, seat)
        glass = house.scoring.poured(sheet)[0]
        with store.write() as db:
            house.booth.take_glass(db, seat, glass.code, house.clock())
        for line, value in zip(sheet.lines, (10.0, 20.0, 30.0, None), strict=True):
            for said in (50.0, value):
                with store.write() as db:
                    at = house.clock()
                    house.booth.save_score(db, seat, glass.serving_id, line.version_id, said, at)
        for act in acts:
            with store.write() as db:
                act(house, db, seat, glass.serving_id)
        with store.write() as db:
            house.booth.save_rest_zero(db, seat, glass.serving_id, house.clock())
        with store.write() as db:
            house.booth.finish_glass(db, seat, glass.serving_id, house.clock())
    return str(glass.code)


def mark_fault(house: House, db: Any, seat: Any, serving: int) -> None:
    fault = import_module("panel.store.sessions").Fault.SULPHUR
    house.booth.mark_fault(db, seat, serving, fault, house.clock())


def note(house: House, db: Any, seat: Any, serving: int) -> None:
    house.booth.save_note(db, seat, serving, "a struck match, then [/x]", house.clock())


def call_lead(house: House, db: Any, seat: Any, serving: int) -> None:
    reason = import_module("panel.store.sessions").CallReason.DOUBTFUL_GLASS
    house.booth.call_lead(db, seat, reason, house.clock(), serving)


def not_at_best(house: House, db: Any, seat: Any, serving: int) -> None:
    house.booth.not_at_best(db, seat, house.clock())


def name_and_nose(house: House, name: str, who: str, words: tuple[str, ...]) -> None:
    """Name words of one's own, and score every glass on them."""
    with house.opened() as store:
        seat = house.booth.sign_in(store, name, who, PIN, now=house.clock())
        for word in words:
            with store.write() as db:
                house.booth.name_word(db, seat, word, house.clock())
    nose(house, name, who, notes=dict(zip(words, NOTES, strict=False)))


def wrong_pin(house: House, name: str, who: str) -> None:
    """Sign in with a wrong PIN: the try is counted."""
    with house.opened() as store:
        try:
            house.booth.sign_in(store, name, who, "9999", now=house.clock())
        except Exception as error:
            if "PIN" not in str(error):
                raise
            return
    raise RuntimeError("a wrong PIN was let in")
