"""A backup is put back whole, over nothing that anybody holds, and what it lacks is said."""

from __future__ import annotations

import gzip
import json
import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select, update

from panel.errors import (
    DatabaseLocked,
    NoDatabase,
    NotADatabase,
    NotAllowed,
    OlderDatabase,
    StoreError,
)
from panel.kinds import SessionStatus
from panel.records.erase import erase_person
from panel.records.restore import Restored, restore
from panel.store.backup import back_up_file
from panel.store.engine import Store, sqlite_module
from panel.store.examine import Level, examine
from panel.store.log import LogEntry, append_entry, head_hash
from panel.store.log_check import broken_link
from panel.store.lost_stretch import LostScore, lost_after
from panel.store.opening import file_of, open_store
from panel.store.passes import HourPass
from panel.store.people import Person
from panel.store.sessions import BoothSeat, PanelSession, Score
from tests.conftest import FIXED_NOW
from tests.houses.small import add_house
from tests.store.test_erasing import reader

OLDER = Path(__file__).parents[1] / "old_houses" / "house_0001.sqlite.gz"
LATER = FIXED_NOW + timedelta(days=3)


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    with store.write() as db:
        add_house(db, fixed_now)
        db.add(BoothSeat(session_id=1, person_id=2, token_hash="x", taken_at=fixed_now))
        db.add(HourPass(digest_hex="5a" * 32, person_id=1, ends_at=LATER + timedelta(hours=1)))
        append_entry(db, at=fixed_now, by="M1", action="pass given", details={})
    return store


@pytest.fixture
def copy(house: Store, tmp_path: Path) -> Path:
    return back_up_file(file_of(house.url), tmp_path / "monday.backup").copy


def put_back(house: Store, copy: Path) -> Restored:
    house.close()
    return restore(house.url.database, copy, now=LATER, by="M1")


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


def test_what_was_there_is_kept_and_the_backup_stays(
    house: Store, copy: Path, tmp_path: Path
) -> None:
    with house.write() as db:
        db.add(Person(code="Z9"))
    done = put_back(house, copy)
    assert names(tmp_path) == ["monday.backup", "panel.20260317T180000Z.replaced", "panel.sqlite"]
    assert done.replaced == tmp_path / "panel.20260317T180000Z.replaced"
    with house.read() as db:
        assert db.scalar(select(func.count()).where(Person.code == "Z9")) == 0
    kept = open_store(str(done.replaced))
    with kept.read() as db:
        assert db.scalar(select(func.count()).where(Person.code == "Z9")) == 1
    kept.close()


def test_it_is_whole_nobody_is_in_it_and_it_says_so_in_the_log(house: Store, copy: Path) -> None:
    done = put_back(house, copy)
    assert done.seats_dropped == 0, "its session is over: nobody signs in again"
    with house.read() as db:
        assert db.scalar(select(func.count()).select_from(BoothSeat)) == 0
        assert db.scalar(select(func.count()).select_from(HourPass)) == 0
        assert broken_link(db) is None
        body = db.scalar(select(LogEntry.body_json).order_by(LogEntry.id.desc()).limit(1))
        told = json.loads(body or "")
    assert (told["action"], told["by"], told["backup_of"]) == (
        *("database restored", "M1"),
        "2026-03-14 18:00 UTC",
    )
    assert examine(house).worst is not Level.FAULT
    assert file_of(house.url).stat().st_mode & 0o077 == 0


def test_booths_of_an_open_session_have_to_sign_in_again(house: Store, tmp_path: Path) -> None:
    with house.write() as db:
        db.execute(update(PanelSession).values(status=SessionStatus.OPEN))
    done = put_back(house, back_up_file(file_of(house.url), tmp_path / "noon.backup").copy)
    assert done.seats_dropped == 1


def test_scores_that_are_to_be_keyed_again(house: Store, copy: Path, fixed_now: datetime) -> None:
    with house.write() as db:
        first, second, third = db.scalars(select(Score).order_by(Score.serving_id)).all()[:3]
        first.value += 1
        db.delete(second)
        new = first.value
        lost = (first.serving.code, second.serving.code, third.serving.code)
    done = put_back(house, copy)
    assert done.scores_to_key_again == (
        LostScore("EV1", "M1", lost[0], 1, "bonfire", new),
        LostScore("EV1", "M1", lost[1], 1, "bonfire", None),
    )


def test_a_head_of_the_lost_stretch_is_known_by_the_backups_day(
    house: Store, copy: Path, fixed_now: datetime
) -> None:
    with house.read() as db:
        before = head_hash(db)
    with house.write() as db:
        erase_person(db, "A2", keep_scores=True, now=LATER, by="M1")
        lost = head_hash(db)
    done = put_back(house, copy)
    assert done.entries_lost == 1
    assert done.erased_since == ("A2",)
    with house.read() as db:
        assert lost_after(db, lost) == "2026-03-14 18:00 UTC"
        assert lost_after(db, lost[:12]) == "2026-03-14 18:00 UTC"
        assert lost_after(db, before) is None


def test_not_while_anybody_has_it_open(house: Store, copy: Path, tmp_path: Path) -> None:
    house.close()
    before = file_of(house.url).read_bytes()
    with (
        reader(file_of(house.url)) as other,
        pytest.raises(DatabaseLocked, match=f"process {other.pid}"),
    ):
        restore(house.url.database, copy, now=LATER, by="M1")
    assert [name for name in names(tmp_path) if not name.endswith(("-shm", "-wal"))] == [
        *("monday.backup", "panel.sqlite")
    ]
    assert file_of(house.url).read_bytes() == before


def test_an_idle_program_that_has_it_open_is_in_the_way_too(house: Store, copy: Path) -> None:
    with house.read() as db:
        db.scalar(select(Person.code))
    with pytest.raises(DatabaseLocked, match="others have it open"):
        restore(house.url.database, copy, now=LATER, by="M1")


@pytest.mark.slow
def test_a_damaged_database_is_replaced_and_kept_with_what_lies_beside_it(
    house: Store, copy: Path, tmp_path: Path
) -> None:
    house.close()
    path = file_of(house.url)
    path.write_bytes(b"no database at all" * 500)
    Path(f"{path}-wal").write_bytes(b"whatever lay here")
    done = put_back(house, copy)
    assert (done.entries_lost, done.scores_to_key_again) == (None, ())
    assert names(tmp_path) == [
        *("monday.backup", "panel.20260317T180000Z.replaced"),
        *("panel.20260317T180000Z.replaced-wal", "panel.sqlite"),
    ]
    assert examine(house).worst is not Level.FAULT


def test_a_file_copied_without_its_log_is_told(house: Store, copy: Path, tmp_path: Path) -> None:
    house.close()  # what was written until now lies in the file itself
    with house.write() as db:
        db.add(Person(code="Z9"))
    by_hand = tmp_path / "by hand"
    shutil.copy(file_of(house.url), by_hand)
    assert put_back(house, by_hand).without_its_log
    assert not put_back(house, copy).without_its_log


def test_onto_a_machine_that_has_none(house: Store, copy: Path, tmp_path: Path) -> None:
    done = restore(str(tmp_path / "new" / "panel.sqlite"), copy, now=LATER, by="M1")
    assert (done.replaced, done.entries_lost) == (None, 0)
    assert names(tmp_path / "new") == ["panel.sqlite"]


def test_what_is_no_backup_of_ours_changes_nothing(
    house: Store, copy: Path, tmp_path: Path
) -> None:
    house.close()
    path = str(house.url.database)
    before = file_of(house.url).read_bytes()
    text = tmp_path / "text"
    text.write_text("cask\n" * 900, encoding="utf-8")
    other = sqlite_module().connect(tmp_path / "other")
    other.execute("CREATE TABLE t (x)")
    other.close()
    (tmp_path / "older").write_bytes(gzip.decompress(OLDER.read_bytes()))
    for source, kind, words in (
        (tmp_path / "none", NoDatabase, "There is no file"),
        (text, NotADatabase, "another kind"),
        (tmp_path / "other", NotADatabase, "another program"),
        (file_of(house.url), StoreError, "is the database itself"),
        (tmp_path / "older", OlderDatabase, "db upgrade"),
    ):
        with pytest.raises(kind, match=words):
            restore(path, source, now=LATER, by="M1")
    with pytest.raises(NotAllowed):
        restore(path, copy, now=LATER, by="A2")
    assert file_of(house.url).read_bytes() == before
    assert not [name for name in names(tmp_path) if "part" in name or "replaced" in name]


def test_a_server_is_sent_to_its_own_tool(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="pg_restore --clean"):
        restore("postgresql://lead@host/panel", tmp_path / "x", now=LATER, by=None)
