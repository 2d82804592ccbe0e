"""Booths of every kind, a desk and a server, all writing into one database at the same second.

    python -m tests.faults.many_hands [DEEDS [BOOTHS [DATABASE ...]]]

Fourteen booths with 40 deeds each, on a file and then on a PostgreSQL server of its own, where the
booths hold the booths' user only; or on the empty houses that are named. The last line of each says
how many scores were told as kept, how many the records hold, how many booths are at odds with them,
and how many troubles stood on a screen. Every hand goes on at once, which no panel does.
"""

from __future__ import annotations

import os
import pickle
import socket
import sys
import time
import traceback
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import func, select
from sqlalchemy.orm import configure_mappers

from panel.kinds import Role
from panel.store import booth_deeds, booth_queries, booth_return, pins
from panel.store.booth_role import make_booth_role
from panel.store.engine import Store
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.log_check import read_log
from panel.store.opening import make_database, open_store
from panel.store.people import Person
from panel.store.sessions import LeadCall, ScoreChange, Serving
from tests.faults.at_work import KINDS, LEAD, Gate, Result, Work, at_desk, at_server
from tests.faults.outcome import Change
from tests.houses import at_the_booth
from tests.houses.at_the_booth import PINS, open_evening
from tests.houses.parts import person
from tests.servers import own_server

ROOT = Path(__file__).parents[2]
BOOTHS, DEEDS = 14, 40
ROLE = "booth_of_many"
PRELOADED = (booth_deeds, booth_queries, booth_return)
READY_WITHIN_S = 120


@dataclass(frozen=True)
class Held:
    """What came of it."""

    results: list[Result]
    kept: dict[str, list[Change]]
    """Every change in the records by who made it, in its order."""
    calls: int
    answered: int
    log_holds: bool

    @property
    def booths(self) -> list[Result]:
        return [each for each in self.results if each.kind in KINDS]

    @property
    def at_odds(self) -> list[str]:
        """Return whose records are not what they were told, one by one and in its order."""
        return [each.who for each in self.booths if each.told != self.kept.get(each.who, [])]

    @property
    def troubles(self) -> list[str]:
        return [said for each in self.results for said in (*each.troubles, each.broke) if said]

    def lines(self) -> list[str]:
        found = []
        for kind in KINDS:
            took = sorted(s for each in self.booths if each.kind == kind for s in each.took_s)
            if took:
                shares = (took[int(share * (len(took) - 1))] for share in (0.5, 0.9, 0.99))
                words = "  ".join(f"{1000 * each:7.1f}" for each in shares)
                found.append(f"{kind:9} {len(took):5} deeds, p50 p90 p99 {words} ms")
        told = sum(len(each.told) for each in self.booths)
        kept = sum(map(len, self.kept.values()))
        found.append(
            f"{len(self.booths)} booths, a desk and a server: {told} scores told as kept, {kept} "
            f"in the records, {len(self.at_odds)} booths at odds with them; {self.calls} calls, "
            f"{self.answered} answered; {len(self.troubles)} troubles on a screen; the log "
            f"{'holds' if self.log_holds else 'IS BROKEN'}"
        )
        return found


def hold(database: str, booths: int, deeds: int) -> Held:
    """Let so many booths do so many deeds each on a new database, and compare."""
    pins.COST = 2  # what a PIN costs is measured elsewhere
    whose = [f"B{number:02d}" for number in range(booths)]
    PINS.clear()
    PINS.update({who: f"{4821 + 137 * number}" for number, who in enumerate(whose)})
    at_the_booth.pin_hashes.cache_clear()
    with closing(open_store(database)) as store:
        open_evening(store, pause_s=0)
        with store.write() as db:
            db.add(person(LEAD, Role.LEAD))
        role = database
        if store.url.get_backend_name() == "postgresql":
            role = make_booth_role(store, ROLE, new_password=True).url
    configure_mappers()
    with TemporaryDirectory() as place:
        results = _at_once(Work(role, deeds, Gate(Path(place)), _free_port()), database, whose)
    with closing(open_store(database)) as store:
        return _compared(store, results)


def _at_once(work: Work, owners: str, whose: list[str]) -> list[Result]:
    """Seat everybody, let all begin at one moment, and gather what they were told."""
    gate = work.gate
    server = _fork(lambda: at_server(work, "-"), gate, "server")
    _wait(lambda: gate.has("code"), "the server")
    desks = Work(owners, work.deeds, gate, work.port)
    _fork(lambda: at_desk(desks, LEAD), gate, LEAD)
    kinds = list(KINDS)
    for number, who in enumerate(whose):
        _fork(lambda n=number, w=who: KINDS[kinds[n % len(kinds)]](work, w), gate, who)  # type: ignore[misc]
    _wait(lambda: gate.waiting() == len(whose) + 1 or _ended(gate, whose), "everybody to sit")
    gate.say("go")
    _wait(lambda: _ended(gate, whose) == len(whose), "all deeds")
    time.sleep(2 * _LOOKS_S)  # the desk answers who called last
    gate.say("done")
    _wait(lambda: _ended(gate, [LEAD]) == 1, "the desk")
    os.kill(server, 15)
    os.waitpid(server, 0)
    return [pickle.loads((gate.folder / f"result {who}").read_bytes()) for who in [*whose, LEAD]]


_LOOKS_S = 1.5


def _ended(gate: Gate, whose: list[str]) -> int:
    return sum(gate.has(f"result {who}") for who in whose)


def _wait(reached: Callable[[], object], what: str) -> None:
    until = time.monotonic() + READY_WITHIN_S
    while not reached():
        if time.monotonic() > until:
            raise RuntimeError(f"waited in vain for {what}")
        time.sleep(0.01)


def _fork(work: Callable[[], Result], gate: Gate, who: str) -> int:
    """Do something in a process of its own, which leaves its result in a file."""
    child = os.fork()
    if child:
        return child
    try:
        try:
            result = work()
        except BaseException:  # noqa: BLE001 - whatever broke is a trouble that is told
            result = Result("?", who, broke=traceback.format_exc())
        new = gate.folder / f"new {who}"
        new.write_bytes(pickle.dumps(result))
        new.rename(gate.folder / f"result {who}")
    finally:
        os._exit(0)


def _free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def _compared(store: Store, results: list[Result]) -> Held:
    asked = (
        select(Person.code, Descriptor.name, func.round(ScoreChange.value))
        .join(Serving, Serving.id == ScoreChange.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .join(DescriptorVersion, DescriptorVersion.id == ScoreChange.descriptor_version_id)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
        .order_by(ScoreChange.id)
    )
    kept: dict[str, list[Change]] = {}
    with store.read() as db:
        for who, name, value in db.execute(asked):
            kept.setdefault(who, []).append((name, int(value)))
        calls = list(db.scalars(select(LeadCall.answered_at)))
        sound = read_log(db.connection()).sound
    answered = sum(at is not None for at in calls)
    return Held(results, kept, len(calls), answered, sound)


def say(*lines: str) -> None:
    sys.stdout.write("".join(f"{line}\n" for line in lines))
    sys.stdout.flush()


def main(deeds: int, booths: int, *databases: str) -> None:
    """Say what came of it on each of some empty houses; else on a file and a server of our own."""
    for database in databases:
        say(*hold(database, booths, deeds).lines())
    if databases:
        return
    with TemporaryDirectory() as place:
        say("a file")
        make_database(f"{place}/house.sqlite").close()
        main(deeds, booths, f"{place}/house.sqlite")
    with own_server(hurried=False) as server:
        say("a PostgreSQL server")
        make_database(server.url).close()
        main(deeds, booths, server.url)


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:3]]
    main(given[0] if given else DEEDS, given[1] if given[1:] else BOOTHS, *sys.argv[3:])
