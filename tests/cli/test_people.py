"""`oakpanel people`."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import click
import pytest
from sqlalchemy import select

from panel.cli.proving import ask_pin
from panel.clock import utc_now
from panel.errors import OakpanelError
from panel.kinds import SessionStatus
from panel.store import erasing
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.log_check import broken_link
from panel.store.people import Person
from panel.store.pins import check_pin
from panel.store.sessions import PanelSession, SessionAssessor
from tests.cli.calling import Call, caller
from tests.houses.pins import give_pins
from tests.houses.small import add_house


@pytest.fixture
def oakpanel(
    store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    return caller(capsys, monkeypatch, "--db", str(store.url.database), house=store)


@pytest.fixture
def bare(store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Call:
    """`oakpanel` as in a house whose people have no PIN."""
    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    return caller(capsys, monkeypatch, "--db", str(store.url.database))


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    with store.write() as db:
        add_house(db, fixed_now)
    return store


def pin_of(store: Store, code: str) -> str:
    with store.read() as db:
        return db.scalar(select(Person.pin_hash).where(Person.code == code)) or ""


def logged(store: Store) -> list[str]:
    with store.read() as db:
        assert broken_link(db) is None
        return [body or "" for body in db.scalars(select(LogEntry.body_json).order_by(LogEntry.id))]


def test_a_house_is_set_up_from_nothing(bare: Call, store: Store) -> None:
    assert "Nobody is recorded yet" in bare("people", "list").err
    said = bare("people", "add", "M1", "--role", "lead", "--role", "assessor", "--name", "Maren")
    assert (said.code, said.out) == (0, "M1 is recorded: lead, assessor.\n")
    assert "oakpanel people pin M1" in said.err
    unproved = bare("people", "add", "A2")
    assert unproved.code == 1
    assert "M1 leads and has no PIN yet. Set one first: `oakpanel people pin M1`." in unproved.err
    assert bare("people", "pin", "M1", typed="2486\n").code == 0
    add = ("--pin-file", "-", "people", "add", "A2", "--joined-on", "2024-05-01")
    assert bare(*add, typed="2486\n").code == 0
    people = bare("people", "list", "--json").document["people"]
    assert [(p["code"], p["has_pin"], p["joined_on"]) for p in people] == [
        ("A2", False, "2024-05-01"),
        ("M1", True, None),
    ]
    assert '"by":"-"' in logged(store)[0]
    assert all('"by":"M1"' in entry for entry in logged(store)[1:])
    assert "Maren" not in "".join(logged(store))


def test_the_list_is_a_plain_table_without_names(oakpanel: Call, house: Store) -> None:
    assert oakpanel("people", "list").out.splitlines() == [
        "code  roles          PIN  joined      left  consent",
        "A2    assessor       yes  2020-01-01     -  none",
        "M1    assessor lead  yes  2020-01-01     -  none",
    ]


def test_a_pin_from_a_pipe_is_one_line_and_never_shown(oakpanel: Call, house: Store) -> None:
    said = oakpanel("people", "pin", "A2", typed="135791\r\nmore\n")
    assert (said.code, said.out, said.err) == (0, "A2 has a new PIN.\n", "")
    assert check_pin("135791", pin_of(house, "A2"))
    assert "135791" not in "".join(logged(house))


def test_a_generated_pin_is_shown_once(oakpanel: Call, house: Store) -> None:
    said = oakpanel("people", "pin", "A2", "--generate")
    pin = said.out.split()[-1]
    assert len(pin) == 6
    assert check_pin(pin, pin_of(house, "A2"))
    assert pin not in "".join(logged(house))


@pytest.mark.parametrize("typed", ["1234\n", "0000\n", "12\n", "\n", "", "pin\n"])
def test_a_weak_pin_is_refused(oakpanel: Call, house: Store, typed: str) -> None:
    give_pins(house)
    before = pin_of(house, "A2")
    said = oakpanel("people", "pin", "A2", typed=typed)
    assert said.code == 1
    assert "PIN is" in said.err
    assert pin_of(house, "A2") == before


def test_a_terminal_is_asked_twice_and_shows_nothing(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    answers: Iterator[str] = iter(["2486", "2487", "2486", "2486"])
    monkeypatch.setattr("sys.stdin", Terminal())
    monkeypatch.setattr(click.termui, "hidden_prompt_func", lambda _prompt: next(answers))
    assert ask_pin("New PIN of A2", twice=True) == "2486"
    out, err = capsys.readouterr()
    assert out == ""
    assert "do not match" in err
    assert "248" not in err
    assert list(answers) == []


def test_a_weak_pin_is_asked_for_again_before_it_is_typed_twice(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = ["1234", "2486", "2486"]
    monkeypatch.setattr("panel.cli.proving.at_terminal", lambda: True)
    monkeypatch.setattr(click.termui, "hidden_prompt_func", lambda _prompt: answers.pop(0))
    assert ask_pin("New PIN of A2", twice=True) == "2486"
    assert "easily guessed" in capsys.readouterr().err
    answers += ["1234", "0000", "12", "2486"]
    with pytest.raises(OakpanelError, match="4 to 12 digits"):
        ask_pin("New PIN of A2", twice=True)
    assert answers == ["2486"]


@pytest.mark.slow
def test_roles_are_given_and_taken(oakpanel: Call, house: Store) -> None:
    assert oakpanel("people", "role", "A2", "+lead", "+pourer", "-assessor").out == (
        "A2: lead, pourer.\n"
    )
    said = oakpanel("people", "role", "M1", "-lead")
    assert said.code == 1
    assert "2 people have the role 'lead': A2, M1. Say who you are with --by CODE" in said.err
    assert oakpanel("--by", "A2", "people", "role", "M1", "-lead").code == 0
    said = oakpanel("people", "role", "A2", "-lead")
    assert "is the only lead" in said.err
    assert "There is no role 'boss'" in oakpanel("people", "role", "A2", "+boss").err
    assert oakpanel("people", "role", "A2").code == 2


def test_only_a_lead_does_this(oakpanel: Call, house: Store) -> None:
    give_pins(house)
    before = logged(house)
    for words in (
        ("pin", "A2"),
        ("role", "A2", "+lead"),
        ("leave", "A2", "2026-03-01"),
        ("add", "X"),
    ):
        said = oakpanel("--by", "A2", "people", *words, typed="2486\n")
        assert said.code == 1
        assert "A2 does not have the role 'lead'" in said.err
    assert logged(house) == before


def test_who_is_unknown_is_told_the_nearest(oakpanel: Call, house: Store) -> None:
    for words in (
        ("pin", "A3"),
        ("role", "A3", "+lead"),
        ("export", "A3"),
        ("erase", "A3", "--yes"),
    ):
        said = oakpanel("people", *words, typed="2486\n")
        assert (said.code, said.out) == (1, "")
        assert "Nearest: A2." in said.err


def test_leaving_is_a_date(oakpanel: Call, house: Store) -> None:
    assert oakpanel("people", "leave", "A2", "2026-02-01").out == "A2 left on 2026-02-01.\n"
    assert "A2" not in oakpanel("people", "list").out
    assert "A2" in oakpanel("people", "list", "--all").out
    said = oakpanel("people", "leave", "A2", "01.02.2026")
    assert said.code == 2
    assert "is not a date such as" in said.err


def test_export_gives_all_that_is_kept(oakpanel: Call, house: Store) -> None:
    record = oakpanel("people", "export", "A2").document
    assert (record["name"], len(record["sessions"][0]["glasses"])) == ("Ilse Weir", 2)
    assert oakpanel("--by", "A2", "people", "export", "A2").code == 0
    said = oakpanel("--by", "A2", "people", "export", "M1")
    assert (said.code, said.out) == (1, "")


def test_private_facts_want_the_leads_pin(bare: Call, house: Store, tmp_path: Path) -> None:
    given = tmp_path / "given"
    asked = ("--pin-file", str(given), "people", "export", "A2", "--private")
    with house.write() as db:
        db.scalars(select(PanelSession)).one().held_on = utc_now().date()
    given.write_text("2486\n")
    assert "M1 has no PIN yet" in bare(*asked).err
    bare("people", "pin", "M1", typed="2486\n")
    given.write_text("2487\n")
    said = bare(*asked)
    assert (said.code, said.out) == (1, "")
    assert "do not go together" in said.err
    given.write_text("2486\n")
    record = bare(*asked).document
    assert record["sessions"][0]["not_at_best"] is True
    assert "private record given out" in logged(house)[-1]


def test_a_mark_of_not_being_at_ones_best_is_dropped_before_the_next_act_that_writes(
    oakpanel: Call, house: Store
) -> None:
    with house.read() as db:
        assert list(db.scalars(select(SessionAssessor.not_at_best))).count(True) == 2
    assert oakpanel("people", "list").code == 0  # reads, and writes nothing behind anybody's back
    before = len(logged(house))
    oakpanel("house", "set", "pour_ml", "25")
    told = logged(house)[before:]
    assert len(told) == 2
    assert '"own_marks":2' in told[0]
    assert "A2" not in told[0]
    with house.read() as db:
        assert list(db.scalars(select(SessionAssessor.not_at_best))).count(True) == 0


def test_consent_has_its_day_and_text_and_is_withdrawn_in_one_act(
    oakpanel: Call, house: Store
) -> None:
    assert "say to which version" in oakpanel("people", "consent", "A2").err
    given = oakpanel("people", "consent", "A2", "--text", "2026-01", "--keep-scores", "--json")
    assert given.document["text_version"] == "2026-01"
    assert oakpanel("people", "list").out.splitlines()[1].endswith(f"2026-01, {utc_now().date()}")
    said = oakpanel("--by", "A2", "people", "withdraw", "A2")
    assert "oakpanel people erase A2 --keep-scores" in said.out
    assert "withdrew their consent" in oakpanel("people", "list").err
    record = oakpanel("people", "export", "A2").document
    assert [each["withdrawn_on"] for each in record["consents"]] == [str(utc_now().date())]
    assert record["roles"] == []
    refused = oakpanel("people", "role", "A2", "+assessor")
    assert (refused.code, "Record a new one first" in refused.err) == (1, True)
    oakpanel("people", "consent", "A2", "--text", "2026-02")
    assert oakpanel("people", "role", "A2", "+assessor").code == 0


def test_erase_says_what_went_and_what_stays(oakpanel: Call, house: Store) -> None:
    said = oakpanel("people", "erase", "A2", "--yes", "--keep-scores")
    assert said.code == 0
    assert "A2 is erased: name, PIN, roles, code and 2 notes." in said.out
    assert "2 scores stay under gone-" in said.out
    assert "2 log entries were emptied; the chain still holds." in said.out
    assert "can no longer be checked again: EV1" in said.out
    assert "Backups and saved files" in said.err
    assert "A2" not in "".join(logged(house))


def test_erase_asks_first(oakpanel: Call, house: Store) -> None:
    said = oakpanel("people", "erase", "A2", typed="n\n")
    assert said.code == 1
    assert "Erase A2 for good, and delete the scores too?" in said.err
    assert "nothing was left half done" in said.err
    assert oakpanel("people", "export", "A2").code == 0
    assert oakpanel("people", "erase", "A2", "--json", typed="y\n").document["scores_deleted"] == 2


def test_erase_that_others_hold_up_ends_with_1_and_is_finished_by_forget(
    oakpanel: Call, house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(erasing, "PATIENCE_S", 0.0)
    with house.read() as db:
        db.scalar(select(Person.code))  # an older look at the file stays open
        said = oakpanel("people", "erase", "A2", "--yes")
        assert said.code == 1
        assert "A2 is erased" in said.out
        assert "is overwritten" not in said.out
        assert "Waiting for others to let go of the database" in said.err
        assert "the old text is still in the file" in said.err
        assert oakpanel("db", "forget", "--json").code == 1
        checked = oakpanel("db", "check")
        assert checked.code == 1
        assert "FAULT  erasure: An erasure of" in checked.out
    done = oakpanel("db", "forget", "--json").document
    assert done == {"format": 1, "overwritten": True, "held_by": [], "copies": []}
    assert oakpanel("db", "check").code == 0


def test_a_lead_who_erases_themselves_leaves_no_code_in_the_log(
    oakpanel: Call, house: Store
) -> None:
    oakpanel("people", "role", "A2", "+lead")
    name = oakpanel("--by", "M1", "people", "erase", "M1", "--yes", "--json").document["pseudonym"]
    assert f'"by":"{name}"' in logged(house)[-1]
    assert "M1" not in "".join(logged(house))


def test_erase_out_of_an_open_session_is_refused(
    oakpanel: Call, store: Store, fixed_now: datetime
) -> None:
    with store.write() as db:
        add_house(db, fixed_now, SessionStatus.OPEN)
    said = oakpanel("people", "erase", "A2", "--yes")
    assert said.code == 1
    assert "not revealed yet (EV1)" in said.err


def test_words_of_markup_are_words(oakpanel: Call, store: Store) -> None:
    assert oakpanel("people", "add", "[/x]", "--role", "lead").code == 0
    assert "[/x]" in oakpanel("people", "list").out
