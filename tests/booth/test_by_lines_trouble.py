"""The plain booth before its session, after it, and when the records cannot be had."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text

from panel.booth.aloud.booth import PlainBooth
from panel.errors import StoreError, TablesChanged
from panel.kinds import SessionStatus
from panel.seat import said
from panel.seat.records import Records
from panel.store import booth_queries
from panel.store.engine import Store, connect
from tests.booth.by_lines import Hand, Meanwhile, sit
from tests.booth.sitting import pragma, set_stage
from tests.booth.test_trouble import upgrade_between
from tests.houses.at_the_booth import NAME, PINS, Wall, kept_scores


def test_before_its_session_it_waits_and_what_is_typed_meanwhile_is_nobodys(
    evening: Store, wall: Wall
) -> None:
    set_stage(evening, SessionStatus.SEALED)
    hand = Hand([lambda: None, "4821", lambda: set_stage(evening, SessionStatus.OPEN)])
    hand.answers += ["A1", PINS["A1"]]
    booth = PlainBooth(Records(evening, None, wall), hand)
    assert booth.run() == 0
    waits = "No session is open yet. The lead opens one. This booth waits, and goes on by itself."
    assert hand.said.count(waits) == 1
    assert hand.since(waits)[:2] == [said.OPEN_NOW, f"Oakpanel booth, session {NAME}."]
    assert hand.unseen == ["4821", PINS["A1"]]
    assert "A1 is signed in." in hand.said


def test_wrong_pins_are_refused_in_words(evening: Store, wall: Wall) -> None:
    hand = Hand(["", "A1", "0000", "A1", PINS["A1"]])
    PlainBooth(Records(evening, NAME, wall), hand).run()
    assert said.FILL_IN in hand.said
    assert len([line for line in hand.said if line.startswith("Attention: ")]) == 1
    assert "A1 is signed in." in hand.said


def test_while_the_records_take_nothing_scores_wait_and_are_kept_later(
    evening: Store, wall: Wall
) -> None:
    held = pragma(evening, "query_only=1", "query_only=0")
    hand, _, code = sit(
        *(evening, wall, "538", "62", held.__enter__, "10", "20", "p"),
        *(lambda: held.__exit__(None, None, None), "30"),
    )
    assert "Not kept yet: 538 dried fruit 10." in hand.said
    assert "Attention: Not everything is kept yet: this glass stays in your hand." in hand.said
    assert "dried fruit 10, kept 18:00:00." in hand.since("Not kept yet: 538 cut grass 20.")
    assert list(kept_scores(evening, "A1", "538").values()) == [62, 10, 20, 30]
    assert code == 0


def test_at_the_end_what_is_not_on_disk_is_told(evening: Store, wall: Wall) -> None:
    held = pragma(evening, "query_only=1", "query_only=0")
    hand, _, code = sit(evening, wall, "538", "62", held.__enter__, "10", "q", "n")
    held.__exit__(None, None, None)
    assert "Not kept yet: 538 dried fruit 10. Leave, and lose that?" in hand.said
    assert hand.said[-3] == "Not kept: 538 dried fruit 10."
    assert code == 1


@pytest.mark.parametrize(("answer", "kept"), [("y", {"dried fruit": 10}), ("n", {})])
def test_another_booth_takes_over_and_what_was_not_kept_is_offered(
    evening: Store, wall: Wall, answer: str, kept: dict[str, float]
) -> None:
    def fenced() -> str:
        booth_queries.sign_in(evening, NAME, "A1", PINS["A1"], now=wall(), place="window")
        return "10"

    hand, *_ = sit(evening, wall, "538", "", fenced, "A1", PINS["A1"], answer)
    assert "A1 signed in at another booth (window) at 18:00" in hand.text
    assert "Not kept from here: 538 dried fruit 10." in hand.said
    assert said.TELL_LEAD in hand.said
    assert "Not kept before at this booth: 538 dried fruit 10. Keep it now?" in hand.said
    assert kept_scores(evening, "A1", "538") == kept


def test_tables_that_changed_stop_the_booth(evening: Store, wall: Wall, tmp_path: Path) -> None:
    def upgraded() -> str:
        upgrade_between(evening, tmp_path)
        return "10"

    hand, booth, code = sit(evening, wall, "538", "62", upgraded)
    assert code == 1
    assert hand.said[-2:] == [
        "Not kept from here: 538 dried fruit 10.",
        "Write that down and type it again at the new booth.",
    ]
    assert isinstance(booth.fault, TablesChanged)
    assert "brought to a newer form while this booth was open" in hand.text
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


def test_without_records_it_says_why(wall: Wall) -> None:
    def no_store() -> Store:
        raise StoreError("There is none.")

    hand, booth, code = sit(no_store, wall)
    assert (code, hand.said, str(booth.fault)) == (1, [], "There is none.")


def test_a_closed_session_is_told_once_and_goes_on_when_it_is_opened_again(
    evening: Store, wall: Wall
) -> None:
    def closed() -> None:
        set_stage(evening, SessionStatus.CLOSED)

    hand, *_ = sit(
        *(evening, wall, closed, lambda: None, lambda: None),
        *(lambda: set_stage(evening, SessionStatus.OPEN), "538", "62"),
    )
    told = [line for line in hand.said if "was closed: ask the lead" in line]
    assert len(told) == 1
    assert hand.said.count("The session is open again.") == 1
    assert hand.said.index(told[0]) < hand.said.index("The session is open again.")
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


def test_leaving_gives_the_booth_to_the_next(evening: Store, wall: Wall) -> None:
    hand, *_ = sit(evening, wall, "538", "62", "l", "A2", PINS["A2"], "538", "7", "q")
    assert "A2 is signed in." in hand.said
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}
    assert kept_scores(evening, "A2", "538") == {"orchard fruit": 7}
    assert hand.said[-1].startswith("The booth is closed.")


def test_a_full_disk_is_said_and_all_is_kept_once_there_is_room(evening: Store, wall: Wall) -> None:
    full = pragma(evening, "max_page_count=1", "max_page_count=1000000")
    values = [str(10 + each) for each in range(60)]
    typed = [part for value in values for part in ("line 2", value)]
    answers: list[str | Meanwhile] = ["538", "62", full.__enter__, *typed]
    answers += [lambda: full.__exit__(None, None, None), "7"]
    hand, _, code = sit(evening, wall, *answers)
    assert "the disk is full" in hand.text
    assert any(line.startswith("Not kept yet: 538 dried fruit") for line in hand.said)
    kept = kept_scores(evening, "A1", "538")
    assert (kept["orchard fruit"], kept["dried fruit"], code) == (62, float(values[-1]), 0)


def test_a_database_that_another_program_holds_is_said(evening: Store, wall: Wall) -> None:
    other, quick = connect(evening.url), pragma(evening, "busy_timeout=20", "busy_timeout=15000")
    held = other.write()

    def hold() -> str:
        quick.__enter__()
        held.__enter__().execute(text("SELECT 1"))  # from here on it holds the write lock
        return "10"

    def let_go() -> str:
        held.__exit__(None, None, None)
        quick.__exit__(None, None, None)
        return "20"

    hand, _, code = sit(evening, wall, "538", "62", hold, let_go)
    other.close()
    assert "another program holds it" in hand.text
    assert "Not kept yet: 538 dried fruit 10." in hand.said
    assert list(kept_scores(evening, "A1", "538").values()) == [62, 10, 20]
    assert code == 0
