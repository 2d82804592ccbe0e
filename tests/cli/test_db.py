"""`oakpanel db`."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text

from panel.store.engine import Store
from panel.store.log import head_hash
from panel.store.lost_stretch import LostScore
from panel.store.opening import make_database, open_store
from panel.store.people import Person
from panel.store.revisions import HEAD
from panel.words.restored_words import score_lines
from tests.cli.calling import Call, caller


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "house" / "panel.sqlite"


@pytest.fixture
def oakpanel(
    path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    return caller(capsys, monkeypatch, "--db", str(path))


def test_init_makes_it_and_says_what_comes_next(oakpanel: Call, path: Path) -> None:
    said = oakpanel("db", "init")
    assert (said.code, said.out) == (0, f"Made {path}.\n")
    assert "Next: `oakpanel load makes FILE`" in said.err
    open_store(str(path)).close()


def test_init_twice_leaves_the_first(oakpanel: Call) -> None:
    assert oakpanel("db", "init", "--json").document["revision"] == HEAD
    said = oakpanel("db", "init")
    assert (said.code, said.out) == (1, "")
    assert "already; it stays as is" in said.err


@pytest.mark.parametrize("words", [("upgrade",), ("check",), ("backup", "x"), ("booth-role", "x")])
def test_without_a_database_each_says_how_to_start(oakpanel: Call, words: tuple[str, ...]) -> None:
    said = oakpanel("db", *words)
    assert (said.code, said.out) == (1, "")
    assert "There is no database at" in said.err
    assert "`oakpanel db init`" in said.err


def test_upgrade_of_one_that_is_up_to_date(oakpanel: Call) -> None:
    oakpanel("db", "init")
    assert "is up to date" in oakpanel("db", "upgrade").out
    assert oakpanel("db", "upgrade", "--json").document["changed"] is False


@pytest.mark.slow
def test_check_says_what_it_looked_at(oakpanel: Call, path: Path) -> None:
    oakpanel("db", "init")
    said = oakpanel("db", "check")
    assert said.code == 0
    assert "integrity: The file is whole." in said.out
    assert "holds  0 make, 0 cask" in said.out
    document = oakpanel("db", "check", "--json").document
    assert document["database"] == str(path)
    assert document["counts"]["score"] == 0
    assert {finding["about"] for finding in document["findings"]} >= {"sqlite", "log", "origins"}


def test_check_exits_1_on_a_fault(oakpanel: Call, path: Path) -> None:
    store = make_database(str(path))
    with store.write() as db:
        row = "INSERT INTO log_entry VALUES (1, '2026-03-14 18:00:00', '{}', '00', 'aa', 'bb', '')"
        db.execute(text(row))
    store.close()
    said = oakpanel("db", "check")
    assert said.code == 1
    assert "FAULT  log: The log was changed at entry 1" in said.out
    assert oakpanel("db", "check", "--json").document["worst"] == "fault"


@pytest.mark.slow
def test_a_head_that_was_printed_is_looked_for(oakpanel: Call, path: Path) -> None:
    store = make_database(str(path))
    with store.write() as db:
        person = Person(code="M1")
        db.add(person)
    with store.read() as db:
        head = head_hash(db)
    store.close()
    said = oakpanel("db", "check", "--head", f"{head[:8].upper()} {head[8:12]}")
    assert said.code == 0
    assert f"head: The log leads on from {head[:12]}. [by a head that was printed]" in said.out
    said = oakpanel("db", "check", "--head", "0" * 12)
    assert said.code == 1
    assert f"FAULT  head: No entry of the log has the head {'0' * 12}" in said.out
    assert oakpanel("db", "check", "--head", head[:11]).code == 2
    assert oakpanel("db", "check", "--head", "x" * 12).code == 2


@pytest.mark.slow
def test_an_older_copy_is_told_from_what_this_account_saw(oakpanel: Call, path: Path) -> None:
    store = make_database(str(path))
    for code in ("M1", "M2"):
        with store.write() as db:
            db.add(Person(code=code))
        store.close()
        if code == "M1":
            older = path.read_bytes()
    path.write_bytes(older)
    said = oakpanel("db", "check")
    assert said.code == 1
    assert "FAULT  last seen: The head that this account saw last" in said.out
    assert oakpanel("db", "check", "--seen-anew").code == 0
    assert oakpanel("db", "check").code == 0


def test_check_writes_nothing(oakpanel: Call, path: Path) -> None:
    oakpanel("db", "init")
    before = path.read_bytes()
    oakpanel("db", "check")
    assert path.read_bytes() == before
    assert [file.name for file in path.parent.iterdir()] == ["panel.sqlite"]


def test_backup_into_a_new_file_only(oakpanel: Call, tmp_path: Path) -> None:
    oakpanel("db", "init")
    copy = tmp_path / "copy.sqlite"
    said = oakpanel("db", "backup", str(copy))
    assert said.out.startswith(f"Copied to {copy} (0.")
    assert "keep it as carefully" in said.err
    again = oakpanel("db", "backup", str(copy), "--json")
    assert (again.code, again.out) == (1, "")
    assert "is there already" in again.err
    other = oakpanel("db", "backup", str(tmp_path / "other"), "--json").document
    assert other["bytes"] == copy.stat().st_size


def test_booth_role_of_a_file_says_why_not(oakpanel: Call) -> None:
    oakpanel("db", "init")
    said = oakpanel("db", "booth-role", "panel_booth")
    assert said.code == 1
    assert "whoever can read the file can read the key" in said.err


@pytest.mark.slow
def test_booth_role_shows_its_url_once(
    postgres_store: Store,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    named = postgres_store.url.render_as_string(hide_password=False)
    oakpanel = caller(capsys, monkeypatch, "--db", named)
    first = oakpanel("db", "booth-role", "cli_booth", "--json").document
    assert first["new_password"] is True
    open_store(first["url"]).close()
    second = oakpanel("db", "booth-role", "cli_booth")
    assert "Its password stays" in second.err
    assert first["url"] not in second.out
    with postgres_store.write() as db:
        db.execute(text("DROP OWNED BY cli_booth"))
        db.execute(text("DROP ROLE cli_booth"))


@pytest.mark.slow
def test_a_server_goes_through_the_same_commands(
    postgres_url: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    oakpanel = caller(capsys, monkeypatch, "--db", postgres_url)
    assert "is empty. Start one" in oakpanel("db", "check").err
    assert oakpanel("db", "init").code == 0
    assert oakpanel("db", "check", "--json").document["library"] == "postgresql"
    assert "is up to date" in oakpanel("db", "upgrade").out
    assert "pg_dump" in oakpanel("db", "backup", "x").err


def test_a_file_of_another_kind(oakpanel: Call, path: Path) -> None:
    path.parent.mkdir()
    path.write_text("cask,wood\n" * 200, encoding="utf-8")
    said = oakpanel("db", "check")
    assert said.code == 1
    assert "it is a file of another kind, or damaged" in said.err


def test_restore_puts_a_backup_back_and_says_what_is_kept(
    oakpanel: Call, path: Path, tmp_path: Path
) -> None:
    oakpanel("db", "init")
    copy = tmp_path / "copy.sqlite"
    oakpanel("db", "backup", str(copy))
    oakpanel("people", "add", "Rowan")
    asked = oakpanel("db", "restore", str(copy), typed="n\n")
    assert asked.code == 1
    assert f"Put {copy} in the place of the database?" in asked.err
    said = oakpanel("db", "restore", str(copy), "--yes")
    assert said.code == 0
    assert f"{path} is now as it was: before anything was done." in said.out
    assert "What was there is kept: " in said.out
    assert "Entries of the log that came after the backup and are lost: 1." in said.out
    document = oakpanel("db", "restore", str(copy), "--yes", "--json").document
    assert document["scores_to_key_again"] == []
    assert document["entries_lost"] == 1


@pytest.mark.parametrize(("name", "words"), [("gone", "There is no file"), ("text", "database")])
def test_restore_looks_at_the_backup_before_it_asks(
    oakpanel: Call, tmp_path: Path, name: str, words: str
) -> None:
    oakpanel("db", "init")
    (tmp_path / "text").write_text("no database at all\n" * 99)
    said = oakpanel("db", "restore", str(tmp_path / name), typed="y\n")
    assert said.code == 1
    assert words in said.err
    assert "in the place of" not in said.err


def test_a_damaged_database_is_replaced_though_nobody_of_it_can_be_asked(
    oakpanel: Call, path: Path, tmp_path: Path
) -> None:
    oakpanel("db", "init")
    copy = tmp_path / "copy.sqlite"
    oakpanel("db", "backup", str(copy))
    path.write_bytes(b"no database at all" * 400)
    assert oakpanel("db", "restore", str(copy), "--yes").code == 0
    assert oakpanel("db", "check").code == 0


def test_scores_to_key_again_are_gathered() -> None:
    scores = (
        LostScore("Monday", "Rowan", "417", 1, "hearth smoke", 3),
        LostScore("Monday", "Rowan", "417", 1, "plum stone", None),
        LostScore("Monday", "Rowan", "522", 1, "plum stone", 4),
        LostScore("Monday", "Wren", "417", 1, "plum stone", 4),
    )
    assert score_lines(scores) == [
        "To be keyed again in Monday: Rowan, 3 scores on 417, 522.",
        "To be keyed again in Monday: Wren, 1 score on 417.",
    ]
