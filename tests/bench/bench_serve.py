"""Fourteen booths in browsers at a person's pace: from the tap to its answer, and what it costs.

Run: .venv/bin/python -m tests.bench.bench_serve [SECONDS] [file|postgres]

A server of its own process, fourteen browsers without a screen, each with a tap every two to four
seconds, and a desk that looks every second. Beside them, on the same disk in the same run, a bare
write of 4 KiB that is synced. Times are of this machine while it runs; beside them stands what is
asked: 50 ms where such a write is under 15, else three times it, and 100 ms on PostgreSQL, where
the booths' server holds the booths' own user only.
"""

from __future__ import annotations

import os
import random
import re
import secrets
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from httpx2 import Client

from panel.session.progress import session_progress
from panel.store.booth_role import make_booth_role
from panel.store.engine import Store
from panel.store.opening import make_database
from tests.houses import at_the_booth
from tests.houses.at_the_booth import CODES, NAME, PINS, open_evening
from tests.serve.browsing import read
from tests.servers import own_server

BOOTHS = 14
PACE_S = (2.0, 4.0)
ROOT = Path(__file__).parents[2]


@contextmanager
def server(database: str) -> Iterator[tuple[str, str, int]]:
    """Run the command, and give its address, its join code and its process number."""
    run = "from panel.cli.main import run; run()"
    words = [sys.executable, "-c", run, "--db", database]
    words += ["serve", NAME, "--port", "0"]
    env = {**os.environ, "PYTHONUNBUFFERED": "1"}
    pipes = {"stdout": subprocess.PIPE, "stdin": subprocess.DEVNULL, "text": True}
    with subprocess.Popen(words, cwd=ROOT, env=env, **pipes) as process:  # type: ignore[call-overload]
        told = [process.stdout.readline() for _ in range(4)]
        address = re.search(r"http://\S+", told[0])
        code = re.search(r"Join code: (\S+)", told[1])
        if address is None or code is None:
            raise RuntimeError(f"the server did not start: {told}")
        try:
            yield address[0], code[1], process.pid
        finally:
            process.terminate()


class Booth(threading.Thread):
    """One browser: it taps a line, waits for the answer, and takes its time."""

    def __init__(self, base: str, who: str, code: str) -> None:
        super().__init__()
        self.client = Client(base_url=base, headers={"origin": base}, follow_redirects=True)
        self.who, self.until = who, 0.0
        self.taps: list[float] = []
        self.refused = 0
        self._sit_down(code)

    def _sit_down(self, code: str) -> None:
        form = read(self.client.get("/")).forms["/join"]
        self.client.post("/join", data={**form, "code": code})
        form = read(self.client.get("/")).forms["/sign-in"]
        pin = {"code": self.who, "pin": PINS[self.who]}
        form = read(self.client.post("/sign-in", data={**form, **pin})).forms["take"]
        page = self.client.post("/deed", data={**form, "code": CODES[0], "sure": CODES[0]})
        self.form = read(page).forms["scores"]

    def run(self) -> None:
        chance = random.Random(self.who)
        time.sleep(chance.uniform(0, PACE_S[1]))
        while time.monotonic() < self.until:
            line, value = f"line-{chance.randint(1, 10)}", str(chance.randint(0, 100))
            fields = {name: self.form[name] for name in ("deed", "glass", "form")}
            begun = time.perf_counter()
            answer = self.client.post(
                "/deed", data={**fields, line: value, "number": secrets.token_hex(16)}
            )
            self.taps.append(time.perf_counter() - begun)
            self.refused += answer.status_code != 200
            time.sleep(chance.uniform(*PACE_S))


def synced_writes(folder: Path, until: float, found: list[float]) -> None:
    """Write 4 KiB and have it on the disk, five times a second."""
    with open(folder / "bare", "wb", buffering=0) as file:
        while time.monotonic() < until:
            begun = time.perf_counter()
            file.write(os.urandom(4096))
            os.fsync(file.fileno())
            found.append(time.perf_counter() - begun)
            time.sleep(0.2)


def desk(store: Store, until: float) -> None:
    """Look every second how far everybody is."""
    while time.monotonic() < until:
        with store.read() as db:
            session_progress(db, NAME)
        time.sleep(1)


def highest_mb(process: int) -> float:
    """Return the most memory that a process ever held."""
    told = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    found = re.search(r"VmHWM:\s+(\d+)", told)
    return int(found[1]) / 1024 if found else float("nan")


def at(share: float, times: list[float]) -> float:
    """Return the time in milliseconds that this share of all is under."""
    return 1000 * sorted(times)[min(int(share * len(times)), len(times) - 1)]


@contextmanager
def house(kind: str, place: str) -> Iterator[tuple[Store, str]]:
    """Give an empty house, and how the booths' server is told to reach it."""
    if kind == "file":
        with closing(make_database(f"{place}/house.sqlite")) as store:
            yield store, str(store.url.database)
        return
    with own_server(hurried=False) as there, closing(make_database(there.url)) as store:
        yield store, make_booth_role(store, "booth_of_bench", new_password=True).url


def asked_ms(kind: str, writes: list[float]) -> float:
    """Return the time that 99 of 100 taps have to stay under."""
    if kind != "file":
        return 100.0
    bare = at(0.99, writes)
    return 50.0 if bare < 15 else 3 * bare


def main(seconds: float, kind: str) -> None:
    PINS.update({f"B{number:02d}": f"{4821 + 137 * number}" for number in range(BOOTHS - 3)})
    at_the_booth.pin_hashes.cache_clear()
    with TemporaryDirectory() as place, house(kind, place) as (store, database):
        open_evening(store, pause_s=0)
        with server(database) as (base, code, process):
            booths = [Booth(base, who, code) for who in PINS]
            begun = highest_mb(process)
            until = time.monotonic() + seconds
            for booth in booths:
                booth.until = until
            writes: list[float] = []
            others = [
                threading.Thread(target=synced_writes, args=(Path(place), until, writes)),
                threading.Thread(target=desk, args=(store, until)),
            ]
            for each in (*booths, *others):
                each.start()
            for each in (*booths, *others):
                each.join()
            taps = [tap for booth in booths for tap in booth.taps]
            print(f"{kind}: {len(booths)} booths, {seconds:.0f} s, {len(taps)} taps")
            print(f"refused: {sum(booth.refused for booth in booths)}")
            for name, times in (("tap to answer", taps), ("bare synced write", writes)):
                shares = "  ".join(f"p{100 * s:.0f} {at(s, times):6.1f}" for s in (0.5, 0.9, 0.99))
                print(f"{name:18} {shares}  ms")
            print(f"asked of p99: {asked_ms(kind, writes):.0f} ms; load {os.getloadavg()[0]:.1f}")
            print(f"server: {begun:.0f} MB after all signed in, {highest_mb(process):.0f} at most")


if __name__ == "__main__":
    given = sys.argv[1:]
    main(float(given[0]) if given else 300.0, given[1] if given[1:] else "file")
