"""Who acts proves it: every command is walked; those that bind refuse whoever proves nothing."""

from __future__ import annotations

import stat
from collections.abc import Iterator
from datetime import datetime, timedelta
from importlib import import_module
from pathlib import Path

import click
import pytest

from panel.cli.invocation import Invocation
from panel.cli.main import COMMANDS, group
from panel.store.engine import Store
from panel.store.passes import HourPass
from panel.store.seen import own_file
from tests.cli.calling import Call, caller
from tests.cli.proving import entries, house, oakpanel, typed
from tests.houses.pins import PIN

__all__ = ["house", "oakpanel", "typed"]

BINDING: dict[str, tuple[str, ...]] = {
    "session seal": ("spring",),
    "session seats": ("spring", "--absent", "A2"),
    "session sheets": ("spring",),
    "session open": ("spring",),
    "session pack": ("spring", "a.pack", "--to", "Quayside", "--water", "spring"),
    "session return": ("spring", "a.return", "--destroyed", "5"),
    "session join": ("a.return",),
    "session recall": ("spring", "Quayside", "--reason", "lost", "--yes"),
    "session close": ("spring",),
    "session reopen": ("spring", "--reason", "fire alarm"),
    "session reveal": ("spring",),
    "session mark": ("spring", "A1", "417", "void"),
    "passing lift": ("C1",),
    "session key": ("spring", "one.csv", "two.csv"),
    "session clear": ("spring", "A1", "417", "stood"),
    "people add": ("N1",),
    "people pin": ("W1",),
    "people role": ("W1", "+lead"),
    "people leave": ("W1", "2026-02-01"),
    "people export": ("W1",),
    "people consent": ("W1", "--text", "1"),
    "people withdraw": ("W1",),
    "training begin": ("A2",),
    "training show": ("W1",),
    "training take-in": ("A2",),
    "people erase": ("W1", "--yes"),
    "db restore": ("copy.sqlite", "--yes"),
    "house set": ("dose_day_g", "12"),
    "rules set": ("Scotch whisky", "off"),
    "register tell": ("D1", "--fate", "destroyed"),
    "register reverse": ("D1", "--because", "kept", "--fate", "kept"),
    "register session": ("spring", "--fate", "destroyed"),
    "release propose": ("Autumn", "--target", "Lantern"),
    "release disgorge": ("Autumn", "--cask", "C1=100@58"),
    "release sign": ("Autumn",),
    "release bottle": ("Autumn",),
    "load": ("assessors", "nobody.csv"),
    "save": ("assessors", "people.csv", "--names"),
    "agreement": ("spring", "--private"),
    "report panel": ("spring",),
}
"""Each command that binds, as it is typed; nothing of what it names is there."""
FREE = {
    *("demo", "desk", "booth", "serve", "profile", "influences", "ageing", "match", "vat"),
    "register",
    *("db init", "db upgrade", "db check", "db backup", "db booth-role", "db forget"),
    *("people list", "people lock", "house show"),
    *(
        "session plan",
        "session next",
        "session power",
        "session drop",
        "session list",
        "session show",
    ),
    *("session calls", "session words", "session unpack", "session away", "register carried"),
    *("training list", "training known"),
    *("passing list", "passing sound", "passing spike", "passing noses", "passing slips"),
    *("target list", "target show", "target make"),
    *("release list", "release show", "release bench", "release cancel", "release sheet"),
    *(
        "release mixing",
        *("release check", "release batches", "stock plan", "stock plans", "stock drop"),
        "rules list",
        "rules show",
    ),
    *("register months", "register look", "stock review", "stock tick"),
    *("bottles list", "bottles remark", "bottles trace", "bottles safety", "bottles close"),
    *("bottles forget", "bottles keep", "bottles gone", "bottles nose"),
    *("report stock", "report lot"),
    *("report session", "report cask", "report release", "report ageing"),
    *("report tasting", "report influences", "report target", "report blend"),
    *("cask", "strength at-20", "strength loss", "strength marry", "strength read"),
    *("strength reduce", "strength ullage", "strength until", "strength weigh", "schema"),
}
"""Commands that ask nobody for a PIN, or only for a part of what they say (`OF_PEOPLE`)."""
OF_THE_LEAD = (
    ("report", "session", "spring", "--for", "lead"),
    ("report", "panel", "spring"),
    ("profile", "--private"),
)
OF_PEOPLE = (
    *OF_THE_LEAD,
    ("agreement", "spring", "--note", "A1"),
    ("agreement", "--since", "2025-01-01", "--assessor", "A1"),
    ("agreement", "spring", "summer", "--assessor", "A1"),
    ("agreement", "spring", "--descriptor", "smoke", "--assessor", "A1", "--picture", "-"),
    ("agreement", "spring", "summer", "--assessor", "A1", "--picture", "-"),
    ("profile", "--assessor", "A1"),
)
"""What speaks of single people, the lead's alone first."""
NEVER_BY_PASS = (
    "release sign",
    "people erase",
    "people role",
    "people pin",
    "session sheets",
    "db restore",
)
NO_TERMINAL = "there is no terminal to ask at"


def leaves(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[str]:
    """Give the path of every command that does something."""
    if isinstance(command, click.Group):
        if command.invoke_without_command and path:
            yield " ".join(path)
        for name, each in command.commands.items():
            yield from leaves(each, (*path, name))
    else:
        yield " ".join(path)


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch, fixed_now: datetime) -> list[datetime]:
    """Set the clock: the last moment of the list is now."""
    moments = [fixed_now]
    monkeypatch.setattr(Invocation, "now", lambda _self: moments[-1])
    return moments


def passes(store: Store) -> list[tuple[str, datetime]]:
    with store.read() as db:
        return [(each.digest_hex, each.ends_at) for each in db.query(HourPass)]


def test_every_command_is_one_that_binds_or_one_that_does_not() -> None:
    found = {
        path
        for name, (module, _) in COMMANDS.items()
        for path in leaves(import_module(module).command, (name,))
    }
    assert found == BINDING.keys() | FREE
    assert not BINDING.keys() & FREE


@pytest.mark.parametrize("path", BINDING)
def test_a_command_that_binds_does_nothing_for_a_name_alone(
    oakpanel: Call, house: Store, path: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    before = entries(house)
    said = oakpanel(*path.split(), *BINDING[path])
    assert (said.code, said.out) == (1, "")
    assert NO_TERMINAL in said.err
    assert "PIN of LD" in said.err
    assert entries(house) == before


def test_what_a_pin_is_asked_for_reads_as_a_sentence(oakpanel: Call) -> None:
    said = " ".join(oakpanel("people", "role", "W1", "+lead").err.split())
    assert "For changing who is there or in which roles the PIN of LD is asked" in said


@pytest.mark.parametrize("path", BINDING)
def test_a_wrong_pin_is_no_proof_and_counts(oakpanel: Call, house: Store, path: str) -> None:
    said = oakpanel("--pin-file", "-", *path.split(), *BINDING[path], typed="9999\n")
    assert (said.code, said.out) == (1, "")
    assert "The PIN of LD was asked. This code and this PIN do not go together" in said.err
    assert '"action":"sign-in refused"' in entries(house)[-1]


def test_a_pin_is_never_an_options_value_nor_of_the_environment() -> None:
    option = next(one for one in group.params if one.name == "pin_file")
    assert option.envvar is None
    assert group.context_settings.get("auto_envvar_prefix") is None
    names = {name for one in group.params for name in one.opts}
    assert "--pin" not in names


def test_a_pin_is_one_line_of_a_file(oakpanel: Call, tmp_path: Path) -> None:
    file = tmp_path / "pin"
    file.write_text(f"{PIN}\n")
    assert oakpanel("--pin-file", str(file), "people", "add", "N1").code == 0
    file.write_text("\n")
    assert "first line is empty" in oakpanel("--pin-file", str(file), "people", "add", "N2").err
    assert "No PIN can be read" in oakpanel("--pin-file", "nowhere", "people", "add", "N2").err


def test_a_pin_at_a_terminal_holds_an_hour(
    oakpanel: Call, house: Store, typed: list[str], at: list[datetime], fixed_now: datetime
) -> None:
    typed.append(PIN)
    assert oakpanel("people", "export", "A1").code == 0
    file = own_file(house.url, "passes")
    assert (stat.S_IMODE(file.stat().st_mode), len(file.read_bytes())) == (0o600, 32)
    assert [end for _, end in passes(house)] == [fixed_now + timedelta(hours=1)]
    assert file.read_bytes().hex() not in str(passes(house))
    at.append(fixed_now + timedelta(minutes=59))
    assert oakpanel("people", "export", "A1").code == 0
    at.append(fixed_now + timedelta(hours=1))
    typed.append("0000")
    assert oakpanel("people", "export", "A1").code == 1
    assert typed == []


def test_a_clock_set_back_prolongs_no_pass(
    oakpanel: Call, typed: list[str], at: list[datetime], fixed_now: datetime
) -> None:
    typed.append(PIN)
    oakpanel("people", "export", "A1")
    at.append(fixed_now - timedelta(seconds=1))
    typed.append("0000")
    assert oakpanel("people", "export", "A1").code == 1
    assert typed == []


@pytest.mark.parametrize("path", NEVER_BY_PASS)
def test_what_never_takes_a_pass_asks_again(oakpanel: Call, typed: list[str], path: str) -> None:
    typed.append(PIN)
    assert oakpanel("people", "export", "A1").code == 0
    typed.append("0000")
    assert "do not go together" in oakpanel(*path.split(), *BINDING[path]).err
    assert typed == []


def test_a_pass_is_nobody_elses(oakpanel: Call, typed: list[str]) -> None:
    typed.append(PIN)
    assert oakpanel("people", "export", "A1").code == 0
    typed.append("0000")
    said = oakpanel("--by", "W1", "release", "bottle", "Autumn")
    assert "do not go together" in said.err


def test_a_pass_that_others_could_have_read_is_none(
    oakpanel: Call, house: Store, typed: list[str]
) -> None:
    typed.append(PIN)
    oakpanel("people", "export", "A1")
    own_file(house.url, "passes").chmod(0o644)
    typed.append("0000")
    assert oakpanel("people", "export", "A1").code == 1


@pytest.mark.parametrize("ends", ["new PIN", "leaves", "lock", "lock them", "booth"])
def test_a_pass_ends(oakpanel: Call, house: Store, typed: list[str], ends: str) -> None:
    from panel.cli.booth import open_for_booth

    typed += [PIN] * 2
    oakpanel("people", "role", "W1", "+lead")
    assert oakpanel("--by", "W1", "people", "export", "A1").code == 0
    secret = own_file(house.url, "passes").read_bytes()
    if ends == "new PIN":
        typed += [PIN, "8642", "8642"]
        assert oakpanel("people", "pin", "W1").code == 0
    elif ends == "leaves":
        typed.append(PIN)
        assert oakpanel("people", "leave", "W1", "2026-03-15").code == 0
    elif ends == "booth":
        open_for_booth(Invocation(named=str(house.url.database))).close()
    else:
        assert oakpanel("people", "lock", *(["W1"] if ends == "lock them" else [])).code == 0
    assert passes(house) == []
    own_file(house.url, "passes").write_bytes(secret)
    own_file(house.url, "passes").chmod(0o600)
    typed.append("0000")
    assert oakpanel("--by", "W1", "people", "export", "A1").code == 1
    assert typed == ([] if ends != "leaves" else ["0000"])  # who left is asked for nothing


def test_a_file_proves_each_time_and_leaves_no_pass(oakpanel: Call, house: Store) -> None:
    assert oakpanel("--pin-file", "-", "people", "export", "A1", typed=PIN).code == 0
    assert passes(house) == []
    assert NO_TERMINAL in oakpanel("people", "export", "A1").err


def test_somebody_takes_out_what_is_kept_of_themselves_by_their_own_pin(oakpanel: Call) -> None:
    words = ("--by", "A1", "--pin-file", "-", "people", "export")
    assert oakpanel(*words, "A1", typed=PIN).code == 0
    assert "does not have the role 'lead'" in oakpanel(*words, "W1", typed=PIN).err


@pytest.mark.parametrize("words", OF_PEOPLE, ids=" ".join)
def test_what_speaks_of_single_people_is_no_other_persons_to_see(
    oakpanel: Call, words: tuple[str, ...]
) -> None:
    said = oakpanel("--by", "W1", "--pin-file", "-", *words, typed=PIN)
    assert (said.code, said.out) == (1, "")
    assert "W1 does not have the role 'lead'" in said.err
    said = oakpanel(*words)
    assert (said.code, said.out) == (1, "")
    assert "the PIN of LD is asked" in " ".join(said.err.split())


@pytest.mark.parametrize("words", OF_PEOPLE, ids=" ".join)
def test_a_page_of_ones_own_takes_ones_own_pin_and_the_leads_page_does_not(
    oakpanel: Call, words: tuple[str, ...]
) -> None:
    said = oakpanel("--by", "A1", "--pin-file", "-", *words, typed=PIN)
    assert ("does not have the role 'lead'" in said.err) is (words in OF_THE_LEAD)
    assert "PIN" not in said.err


def test_a_setting_is_taken_back_by_a_pin_too(oakpanel: Call) -> None:
    oakpanel("--pin-file", "-", "house", "set", "dose_day_g", "12", typed=PIN)
    taken_back = ("house", "set", "dose_day_g", "--take-back")
    assert NO_TERMINAL in oakpanel(*taken_back).err
    assert oakpanel("--pin-file", "-", *taken_back, typed=PIN).code == 0


def test_who_sets_a_house_up_is_asked_for_no_pin(
    store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    empty = caller(capsys, monkeypatch, "--db", str(store.url.database))
    store.close()
    assert empty("house", "set", "dose_day_g", "12").code == 0
    assert empty("rules", "set", "Scotch whisky", "off").code == 0
    empty("people", "add", "LD", "--role", "lead")
    assert "LD leads and has no PIN yet" in empty("house", "set", "dose_day_g", "13").err
