"""A round by commands: each in its own database, as two people at two sites type them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from panel.cli import invocation
from panel.kinds import SessionKind
from panel.store.engine import Store
from panel.store.opening import open_store
from tests.cli.calling import Said, caller
from tests.conftest import FIXED_NOW
from tests.houses.at_another_site import (
    SITE_LEAD,
    answer_tray,
    build_home,
)
from tests.houses.pins import PIN, by_file, give_pins
from tests.promises.kept import check_promises, keys_of

At = Callable[..., Said]
COMMANDS = (
    *("session pack", "session unpack", "session return", "session join"),
    *("session away", "session recall", "register carried"),
)


@pytest.fixture
def at(
    store: Store,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> At:
    """Give what types a command at home or at the other site."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: FIXED_NOW)
    build_home(store, SessionKind.TWO_AND_TWO)
    give_pins(store)
    call = caller(capsys, monkeypatch)
    proof = by_file(store)

    def typed(where: str, *words: str) -> Said:
        named = str(store.url.database) if where == "home" else "there.sqlite"
        by = "L1" if where == "home" else SITE_LEAD
        said: Said = call(*proof, "--db", named, "--by", by, *words)
        return said

    return typed


def test_two_people_at_two_sites_type_a_round(at: At, store: Store) -> None:
    found: set[str] = set()

    def ask(where: str, name: str, *words: str) -> Any:
        said = at(where, *name.split(), *words, "--json")
        assert said.code == 0, said.err
        found.update(keys_of(said.document, name))
        return said.document

    to = ("--to", "Quayside", "--water", "our spring")
    ask("home", "session pack", "evening", "lost.pack", *to, "--assessor", "A1")
    recalled = ask("home", "session recall", "evening", "Quayside", "--reason", "lost", "--yes")
    assert [pack["state"] for pack in recalled["packs"]] == ["called back"]
    made = ask("home", "session pack", "evening", "m.pack", *to, "--assessor", "A2")
    digits = made["pack_hash"][:12]
    assert at("home", "session", "pack", "evening", "m.pack", *to, "--assessor", "A3").code == 1
    sheet = at("home", "session", "sheets", "evening", "carriage").out
    for told in (made["pack_hash"], "Flammable liquid", "local code", "seven days", "our spring"):
        assert told in " ".join(sheet.split())
    assert "D1" not in sheet

    wrong = at("there", "session", "unpack", "m.pack", "--received", "1", "--hash", "0" * 12)
    assert (wrong.code, Path("there.sqlite").exists()) == (1, False)
    assert at("there", "session", "unpack", "m.pack", "--received", "1").code == 1
    more = at("there", "session", "unpack", "m.pack", "--received", "9260", *("--lead", SITE_LEAD))
    assert "9260 mL received, and" in " ".join(more.err.split())
    assert not Path("there.sqlite").exists()
    lead = ("--lead", SITE_LEAD, "--hash", digits)
    done = ask("there", "session unpack", "m.pack", "--received", "80", *lead)
    assert done["without_pin"] == ["A2"]
    assert at("there", "session", "unpack", "m.pack", "--received", "80").code == 1
    assert at("home", "session", "unpack", "m.pack", "--received", "80").code == 1
    assert at("there", "people", "pin", "A2", "--generate").code == 0
    assert at("there", "session", "open", "evening").code == 0
    assert at("there", "session", "sheets", "evening", "trays").code == 0
    said = at("there", "session", "sheets", "evening", "pour")
    assert (said.code, "came in a pack" in " ".join(said.err.split())) == (1, True)
    there = open_store("there.sqlite")
    answer_tray(there, "A2", at=FIXED_NOW)
    there.close()
    closed = at("there", "session", "close", "evening")
    assert "oakpanel session return evening FILE --destroyed ML" in " ".join(closed.err.split())
    assert at("there", "session", "show", "evening").code == 0
    assert at("there", "session", "return", "evening", "b.return").code == 1
    assert not Path("b.return").exists()
    ask("there", "session return", "evening", "b.return", "--destroyed", "70")
    assert at("there", "session", "return", "evening", "again.return").code == 0

    assert at("home", "session", "open", "evening").code == 0
    wrong = at("home", "session", "join", "b.return", "--without", "A2")
    assert (wrong.code, "nothing to leave out" in " ".join(wrong.err.split())) == (1, True)
    joined = ask("home", "session join", "b.return")
    assert joined["destroyed_lpa"] == pytest.approx(0.014)
    for again in ("b.return", "again.return"):
        assert "already" in at("home", "session", "join", again).err
    said = at("home", "session", "recall", "evening", "Quayside", "--reason", "late", "--yes")
    assert (said.code, "cannot be called back" in " ".join(said.err.split())) == (1, True)
    assert ask("home", "session away", "evening")["packs"][1]["state"] == "joined"
    assert [r["what"] for r in ask("home", "register carried")["amounts"]] == [
        *("sent", "sent", "received", "destroyed")
    ]
    assert "0.0140" in at("home", "register", "carried").out
    assert "Log there" in at("home", "session", "away", "evening").out
    for name in COMMANDS:
        check_promises("json", {key for key in found if key.startswith(name)}, of=name)


def test_the_lead_there_types_the_pin_that_the_key_at_home_does_not_know(at: At) -> None:
    to = ("--to", "Quayside", "--water", "our spring", "--assessor", "A2")
    assert at("home", "session", "pack", "evening", "m.pack", *to).code == 0
    assert PIN.encode() not in Path("m.pack").read_bytes()
    assert at("there", "session", "unpack", "m.pack", "--received", "80", "--lead", "S1").code == 0
    assert "no PIN" in at("there", "--by", "A2", "people", "export", "A2").err
