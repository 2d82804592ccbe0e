"""What others build on stays: commands and options, keys of JSON, headings of plain files."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest
from sqlalchemy import select

from panel.cli import invocation
from panel.cli.main import group
from panel.intake.kinds import Kind
from panel.intake.saving import template_headings
from panel.kinds import DrawKind, Fault
from panel.session import passing_blocks
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow, behind_serving
from panel.store.people import Person
from panel.store.sessions import Serving, ServingNote
from tests.cli.calling import caller
from tests.houses.in_training import add_people
from tests.houses.nosed import NOW, build_nosed
from tests.houses.to_pass import answer, behind
from tests.promises import kept
from tests.promises.asked import (
    Ask,
    ask_for_answers,
    ask_last,
    ask_of_a_release,
    ask_of_a_session,
    ask_of_passing,
    ask_of_records,
    ask_of_training,
)
from tests.promises.kept import check_promises, keys_of
from tests.promises.schema import check_schema
from tests.release.test_release import nose_blend

ELSEWHERE = {
    "demo": "tests/cli/test_demo.py",
    "db booth-role": "a database server",
    **dict.fromkeys(
        (
            *("session pack", "session unpack", "session return", "session join"),
            *("session away", "session recall", "register carried"),
        ),
        "tests/elsewhere/test_by_command.py",
    ),
}
LEVELS = {"bonfire": (10, 20, 30, 40, 50, 60), "pear": (90, 76, 64, 55, 40, 31)}


def commands(
    command: click.Command = group, name: str = "oakpanel"
) -> Iterator[tuple[str, click.Command]]:
    """Give every command with its name."""
    yield name, command
    if isinstance(command, click.Group):
        context = click.Context(command)
        for part in command.list_commands(context):
            inner = command.get_command(context, part)
            assert inner is not None
            yield from commands(inner, part if command is group else f"{name} {part}")


def test_commands_arguments_and_options() -> None:
    found = set()
    for name, command in commands():
        found.add(name)
        for one in command.params:
            words = [str(one.name).upper()] if isinstance(one, click.Argument) else one.opts
            found |= {f"{name} {word}" for word in words}
    check_promises("commands", found)


def test_headings_of_plain_files() -> None:
    found = {
        f"{kind}: {heading}" for kind in Kind for heading in template_headings(kind, names=True)
    }
    check_promises("headings", found)


@pytest.fixture
def house(store: Store, tmp_path: Path) -> Store:
    """Give the nosed house, with references, and an evening in own words to load."""
    build_nosed(store)
    with store.write() as db:
        for label in ("R0", "W0"):
            db.add(Draw(label=label, kind=DrawKind.REFERENCE, abv=46.0, volume_ml=1000.0))
        first = db.scalars(select(Draw).where(Draw.label == "D-C1")).one()
        newer = Draw(label="D-C1b", kind=DrawKind.CASK, filling=first.filling)
        newer.abv, newer.volume_ml, newer.drawn_on = first.abv, first.volume_ml, first.drawn_on
        db.add(newer)
        of_c3 = select(Serving.id).join(Person).join(KeyRow, behind_serving()).join(Draw)
        glass = db.scalars(of_c3.where(Draw.label == "D-C3").limit(1)).one()
        db.add(ServingNote(serving_id=glass, text="like a boat shed", written_at=NOW))
    rows = [
        f"free,{person},D-C{glass},1,{word},{level + n}"
        for n, person in enumerate(("AA", "BB", "CC", "DD"))
        for word, levels in LEVELS.items()
        for glass, level in enumerate(levels, start=1)
    ]
    text = "\n".join(["session,assessor,sample,replicate,word,score", *rows])
    (tmp_path / "own.csv").write_text(text, encoding="utf-8")
    (tmp_path / "broken.csv").write_text("make,phenol_ppm\nMarsh,much\n", encoding="utf-8")
    moved = "cask,kind,happened_on,warehouse\nC3,moved,2026-03-13,9\n"
    (tmp_path / "moved.csv").write_text(moved, encoding="utf-8")
    return store


def pass_casks(house: Store, session: str, held: str, folder: Path) -> None:
    """Pass every glass of a session, and hold those of one sample; P2 is passed on paper."""
    if session == "P2":
        with house.read() as db:
            rows = [f"BB,{serving.code},pass," for serving, _, _ in behind(db, session)]
        for file in ("one.csv", "two.csv"):
            text = "\n".join(["assessor,code,what,value", *rows])
            (folder / file).write_text(text, encoding="utf-8")
        return
    answer(house, session, NOW, lambda _, sample: (Fault.RUBBER,) if sample == held else ())


@pytest.fixture
def found() -> set[str]:
    return set()


@pytest.fixture
def ask(
    house: Store,
    found: set[str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> Ask:
    """Give what asks a command of the house and notes the keys of its answer."""
    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: NOW)
    call = caller(capsys, monkeypatch, "--db", str(house.url.database), house=house)

    def asked(
        name: str,
        *words: str,
        by: str = "LD",
        what: str = "",
        code: int = 0,
        prints_json_anyway: bool = False,
    ) -> Any:
        said = call("--by", by, *name.split(), *words, *([] if prints_json_anyway else ["--json"]))
        assert said.code == code, said.err
        check_schema(name, said.document)
        found.update(keys_of(said.document, f"{name}{what}"))
        return said.document

    return asked


def test_keys_of_json(
    ask: Ask,
    house: Store,
    found: set[str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Chance draws how many glasses are planted: none would tell no keys of them.
    monkeypatch.setattr(passing_blocks, "_drawn", lambda mean, _rng: max(1, round(mean)))
    ask_of_records(ask, tmp_path)
    ask_of_a_session(ask)
    ask_for_answers(ask)
    ask_of_passing(ask, lambda name, held: pass_casks(house, name, held, tmp_path), tmp_path)
    ask_of_a_release(ask, lambda blend: nose_blend(house, blend, (45.0, 24.0, 44.0)))
    house.close()  # nobody may hold what is replaced
    ask_last(ask, tmp_path)
    add_people(house)
    ask_of_training(ask)
    made = caller(capsys, monkeypatch, "--db", str(tmp_path / "new.sqlite"))("db", "init", "--json")
    check_schema("db init", made.document)
    found |= keys_of(made.document, "db init")
    answering = {
        name
        for name, command in commands()
        if any("--json" in one.opts for one in command.params) and name not in ELSEWHERE
    }
    unasked = {name for name in answering if not any(key.startswith(name) for key in found)}
    assert not unasked, f"Ask these in tests/promises/asked.py: {sorted(unasked)}"
    check_promises("json", found | kept.listed("json", of=ELSEWHERE))


def test_keys_of_json_on_a_database_server(
    postgres_store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    url = postgres_store.url.render_as_string(hide_password=False)
    said = caller(capsys, monkeypatch, "--db", url)("db", "booth-role", "promised", "--json")
    check_schema("db booth-role", said.document)
    check_promises("json", keys_of(said.document, "db booth-role"), of="db booth-role")


def test_what_is_gone_and_what_is_new_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept, "HERE", tmp_path)
    monkeypatch.delenv("OAKPANEL_PROMISES", raising=False)
    (tmp_path / "json.txt").write_text("cask.wood\nmatch.seed\n", encoding="utf-8")
    check_promises("json", {"cask.wood", "match.seed"})
    with pytest.raises(AssertionError, match=r"Promised and gone.*match\.seed"):
        check_promises("json", {"cask.wood"})
    with pytest.raises(AssertionError, match=r"cask\.parcel.*OAKPANEL_PROMISES=write"):
        check_promises("json", {"cask.wood", "match.seed", "cask.parcel"})
    monkeypatch.setenv("OAKPANEL_PROMISES", "write")
    check_promises("json", {"cask.wood", "match.seed", "cask.parcel"})
    assert (tmp_path / "json.txt").read_text(encoding="utf-8").split() == [
        *("cask.parcel", "cask.wood", "match.seed")
    ]


def test_keys_that_records_name_are_one_promise() -> None:
    document = {"slopes": {"AA": 1, "BB": 2}, "lines": [{"a": {"b": 0}}, {"c": None}]}
    assert keys_of(document, "x") == {
        *("x.slopes", "x.slopes.*", "x.lines", "x.lines[].a", "x.lines[].a.b", "x.lines[].c")
    }
