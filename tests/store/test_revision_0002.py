"""A house kept at revision 0001 comes to 0002 with its sessions told by kind."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path
from shutil import copy

import pytest
from sqlalchemy import make_url, select, text, update
from sqlalchemy.exc import StatementError

from panel.errors import NewerDatabase, StoreError
from panel.kinds import Manner, SessionKind, SessionStatus
from panel.store.casks import Filling
from panel.store.engine import WRITES, Store, connect, locate
from panel.store.opening import find_revision, open_store
from panel.store.sessions import PanelSession, Serving
from panel.store.upgrading import VERSIONS, migrate, upgrade_database
from tests.conftest import FIXED_NOW, server_database

SESSION = (
    "INSERT INTO panel_session (id, name, held_on, status, manner, loaded, rehearsal, blind, "
    "may_go_back, codes_per_assessor, pause_s, pour_ml, nosing_abv, own_words, most_words, "
    "key_hash, note) VALUES (:id, :name, '2026-03-14', :status, 'taste', false, false, true, "
    "true, false, 90, 15.0, 23.5, :own_words, :most_words, 'ab', 'kept')"
)
SESSIONS = (
    {"id": 3, "name": "Notes", "status": "closed", "own_words": False, "most_words": None},
    {"id": 7, "name": "Words", "status": "sealed", "own_words": True, "most_words": 6},
)
REST = (
    "INSERT INTO person (id, code) VALUES (1, 'M1')",
    "INSERT INTO session_assessor (session_id, person_id, seat, knew_key, not_at_best) "
    "VALUES (7, 1, 1, false, false)",
    "INSERT INTO serving (id, session_id, person_id, flight, position, code, pouring, warm_up, "
    "status) VALUES (1, 7, 1, 1, 1, '351', 1, false, 'kept')",
    "INSERT INTO cask (id, number, wood, size_l) VALUES (1, 'C100', 'oak', 200.0)",
    "INSERT INTO filling (id, label, cask_id, filled_on, fill_number, fill_abv, fill_bulk_l) "
    "VALUES (1, 'C100/1', 1, '2015-05-01', 1, 63.5, 190.0)",
)

TOPPED = (
    "INSERT INTO filling_event (id, filling_id, kind, happened_on, entry, litres) "
    "VALUES (1, 1, 'topped', '2016-05-01', 1, 12.0)"
)


def keep_at_0001(named: str, folder: Path) -> None:
    """Make a database as the first revision left it, with two sessions and a filling."""
    folder.mkdir()
    copy(VERSIONS / "0001_first_tables.py", folder)
    migrate(locate(named), versions=(folder,))
    store = connect(locate(named))
    with store.engine.connect() as raw, raw.execution_options(**{WRITES: True}).begin():
        for session in SESSIONS:
            raw.execute(text(SESSION), session)
        for words in REST:
            raw.execute(text(words))
    store.close()
    assert find_revision(locate(named)) == "0001"


@pytest.fixture(params=["file", "server"], scope="module")
def once(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Return where such a database is, brought up once: each test works on a copy of its own."""
    folder = tmp_path_factory.mktemp("once")
    with ExitStack() as opened:
        named = str(folder / "old.sqlite")
        if request.param == "server":
            server = request.getfixturevalue("postgres_server")
            named = opened.enter_context(server_database(server))
        keep_at_0001(named, folder / "first")
        upgrade_database(named, now=FIXED_NOW)
        yield named


@pytest.fixture
def upgraded(once: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    with ExitStack() as opened:
        if "://" in once:
            server = request.getfixturevalue("postgres_server")
            like = str(make_url(once).database)
            named = opened.enter_context(server_database(server, like=like))
        else:
            named = str(copy(once, tmp_path / "old.sqlite"))
        store = open_store(named)
        yield store
        store.close()


@pytest.mark.slow
def test_sessions_are_told_by_kind_and_keep_the_rest(upgraded: Store) -> None:
    with upgraded.read() as db:
        notes, words = db.scalars(select(PanelSession).order_by(PanelSession.id))
        assert (notes.id, notes.name, notes.kind) == (3, "Notes", SessionKind.PROFILE)
        assert (words.id, words.name, words.kind) == (7, "Words", SessionKind.OWN_WORDS)
        assert (words.most_words, words.status) == (6, SessionStatus.SEALED)
        assert (notes.manner, notes.pause_s, notes.nosing_abv) == (Manner.TASTE, 90, 23.5)
        assert (notes.key_hash, notes.note) == ("ab", "kept")
        assert [seat.person.code for seat in words.assessors] == ["M1"]
        assert db.scalars(select(Serving)).one().session is words


def test_a_filling_belongs_to_no_parcel_yet(upgraded: Store) -> None:
    with upgraded.read() as db:
        filling = db.scalars(select(Filling)).one()
        assert (filling.label, filling.parcel, filling.fill_bulk_l) == ("C100/1", None, 190.0)


@pytest.mark.parametrize("change", ["pour_ml = 0", "status = 'over'", "kind = NULL"])
def test_the_rules_of_the_table_still_bite(upgraded: Store, change: str) -> None:
    with pytest.raises(StoreError), upgraded.write() as db:
        db.execute(text(f"UPDATE panel_session SET {change}"))


def test_the_next_session_gets_a_number_of_its_own(upgraded: Store) -> None:
    with upgraded.write() as db:
        db.add(PanelSession(name="New", status=SessionStatus.DRAFT, kind=SessionKind.OWN_WORDS))
    with upgraded.read() as db:
        told = db.execute(text("SELECT name, kind FROM panel_session"))
        kinds = {name: kind for name, kind in told}
    assert kinds == {"Notes": "profile", "Words": "own words", "New": "own words"}


def test_a_kind_that_a_newer_program_wrote_is_said_and_not_guessed(upgraded: Store) -> None:
    with upgraded.write() as db:
        db.execute(text("UPDATE panel_session SET kind = 'tongues' WHERE name = 'Notes'"))
    with (
        pytest.raises(NewerDatabase, match="'tongues', which this Oakpanel does not know"),
        upgraded.read() as db,
    ):
        db.scalars(select(PanelSession)).all()


def test_only_a_kind_goes_into_the_column(upgraded: Store) -> None:
    with pytest.raises(StatementError, match="'tongues' is not a valid SessionKind"):  # noqa: SIM117
        with upgraded.write() as db:
            db.execute(update(PanelSession).values(kind="tongues"))


@pytest.mark.slow
@pytest.mark.parametrize("where", ["file", "server"])
@pytest.mark.parametrize(("stored", "now"), [("80", "40"), ("40.5", "40"), ("36", "36")])
def test_a_cap_on_ethanol_above_the_highest_is_lowered_and_said(
    request: pytest.FixtureRequest,
    tmp_path: Path,
    fixed_now: datetime,
    where: str,
    stored: str,
    now: str,
) -> None:
    on_file = where == "file"
    named = str(tmp_path / "old.sqlite") if on_file else request.getfixturevalue("postgres_url")
    keep_at_0001(named, tmp_path / "first")
    store = connect(locate(named))
    with store.engine.connect() as raw, raw.execution_options(**{WRITES: True}).begin():
        cap = text("INSERT INTO house_setting VALUES ('dose_day_g', :value)")
        raw.execute(cap, {"value": stored})
    store.close()
    done = upgrade_database(named, now=fixed_now)
    found = open_store(named)
    with found.read() as db:
        assert db.scalar(text("SELECT value FROM house_setting")) == now
        entries = db.scalars(text("SELECT body_json FROM log_entry")).all()
    found.close()
    lowered = stored != now
    assert ("dose_day_g was" in done.sentence()) == lowered
    assert "records taken over" in entries[0]
    assert len(done.lowered) == len(entries[1:]) == lowered


@pytest.mark.slow
@pytest.mark.parametrize("where", ["file", "server"])
def test_fillings_topped_from_nowhere_are_named(
    request: pytest.FixtureRequest, tmp_path: Path, fixed_now: datetime, where: str
) -> None:
    on_file = where == "file"
    named = str(tmp_path / "old.sqlite") if on_file else request.getfixturevalue("postgres_url")
    keep_at_0001(named, tmp_path / "first")
    store = connect(locate(named))
    with store.engine.connect() as raw, raw.execution_options(**{WRITES: True}).begin():
        raw.execute(text(TOPPED))
    store.close()
    done = upgrade_database(named, now=fixed_now)
    assert done.topped_from_nowhere == ("C100/1",)
    assert "their age is not on record: C100/1." in done.sentence()
