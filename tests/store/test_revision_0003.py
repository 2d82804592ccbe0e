"""Up to revision 0003: every row is vouched for, sealed keys are taken over, PINs fit still."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import select, text

from panel.session.stages import revealed_key
from panel.store.booth_front import SCHEMA
from panel.store.booth_role import make_booth_role
from panel.store.engine import Store
from panel.store.findings import Level
from panel.store.log import LogEntry
from panel.store.log_findings import log_findings
from panel.store.opening import open_store
from panel.store.people import Person
from panel.store.pin_guard import prove_pin
from panel.store.releases import Release
from panel.store.sessions import BoothSeat, PanelSession
from panel.store.shape_check import strange_shapes
from panel.store.upgrading import upgrade_database
from panel.store.vouching import ACTION, bound_tables
from tests.conftest import FIXED_NOW
from tests.old_houses.hands_0001 import PIN

HOUSES = Path(__file__).parents[1] / "old_houses"
REVISIONS = ("0001", "0002")
ROLE = "booth_of_before"


@pytest.fixture(params=REVISIONS, scope="module")
def once(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where a kept house is, brought up once: each test works on a copy of its own."""
    path = tmp_path_factory.mktemp("once") / "house.sqlite"
    path.write_bytes(gzip.decompress((HOUSES / f"house_{request.param}.sqlite.gz").read_bytes()))
    upgrade_database(str(path), now=FIXED_NOW)
    return path


@pytest.fixture
def upgraded(once: Path, tmp_path: Path) -> Iterator[Store]:
    path = tmp_path / "house.sqlite"
    path.write_bytes(once.read_bytes())
    with closing(open_store(str(path))) as store:
        yield store


def test_one_entry_vouches_for_every_row_and_says_what_cannot_be_checked(upgraded: Store) -> None:
    with upgraded.read() as db:
        findings = list(log_findings(db, upgraded.url))
        entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        counts = {name: db.scalar(text(f"SELECT count(*) FROM {name}")) for name in bound_tables()}
    assert {finding.level for finding in findings} == {Level.GOOD}
    assert entry is not None
    assert json.loads(entry.body_json or "")["action"] == ACTION
    told = json.loads(entry.kept_json or "")["rows"]
    assert {name: len(told[name]) for name in counts} == counts
    [before] = [finding.words for finding in findings if finding.about == "before"]
    assert before.startswith(f"Entry {entry.id}, of an upgrade, vouches")
    assert "what was changed before it cannot be checked" in before


def test_a_session_sealed_before_is_checked_in_the_form_of_then(upgraded: Store) -> None:
    with upgraded.read() as db:
        asked = select(PanelSession.name).where(
            PanelSession.revealed_at.is_not(None), ~PanelSession.loaded, PanelSession.blind
        )
        names = list(db.scalars(asked))
        found = {name: revealed_key(db, name).matches for name in names}
    assert len(names) >= 2
    assert any(found.values())


def test_who_gave_the_litres_of_a_release_is_taken_from_the_log(upgraded: Store) -> None:
    with upgraded.read() as db:
        asked = select(Release.name, Release.proposed_by, Release.disgorged_by, Release.signed_by)
        found = {name: people for name, *people in db.execute(asked)}
    assert found["First Light"] == ["Heron", "Heron", "Wren"]
    assert found["Second Light"][1] is None


@pytest.mark.slow
def test_a_booths_own_user_of_before_has_no_rights_until_they_are_given_anew(
    postgres_url: str, fixed_now: datetime
) -> None:
    may = "SELECT has_table_privilege(%s, %s, 'SELECT')"
    with psycopg.connect(postgres_url, autocommit=True) as server:
        server.execute(gzip.decompress((HOUSES / "house_0002.sql.gz").read_bytes()))
        server.execute("SET search_path = public")
        server.execute(f"CREATE ROLE {ROLE} LOGIN")
        try:
            server.execute(f"GRANT UPDATE (taken_at) ON serving TO {ROLE}")
            server.execute(f"GRANT SELECT ON score, log_entry, booth_seat TO {ROLE}")
            done = upgrade_database(postgres_url, now=fixed_now)
            assert done.booth_users == (ROLE,)
            assert f"until you run `oakpanel db booth-role {ROLE}`" in done.sentence()
            for table in ("score", "log_entry", "booth_seat"):
                assert server.execute(may, [ROLE, table]).fetchone() == (False,)
            with closing(open_store(postgres_url)) as store:
                make_booth_role(store, ROLE)
                with store.read() as db:
                    assert strange_shapes(db.connection()) == []
            assert server.execute(may, [ROLE, f"{SCHEMA}.score"]).fetchone() == (True,)
            for table in ("score", "log_entry"):
                assert server.execute(may, [ROLE, table]).fetchone() == (False,)
        finally:
            server.execute(f"DROP OWNED BY {ROLE}")
            server.execute(f"DROP ROLE {ROLE}")


@pytest.mark.slow
def test_whoever_had_a_pin_has_it_still(upgraded: Store, fixed_now: datetime) -> None:
    with upgraded.read() as db:
        asked = select(Person.code, Person.pin_hash).where(Person.pin_hash.is_not(None))
        stored = {code: str(kept) for code, kept in db.execute(asked)}
        tokens = list(db.scalars(select(BoothSeat.token_hash)))
    assert stored
    assert all(kept.startswith("scrypt-sha256$") for kept in stored.values())
    for code in stored:
        prove_pin(upgraded, code, PIN, now=fixed_now)
    assert tokens
    assert {len(token) for token in tokens} == {64}
