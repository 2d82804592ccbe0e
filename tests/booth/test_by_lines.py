"""The plain booth: the whole session by questions and answers, and nothing called kept too soon."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from sqlalchemy import select, update
from textual.binding import Binding

from panel.booth import keys
from panel.booth.aloud.booth import PlainBooth
from panel.booth.aloud.kinds import standing
from panel.booth.aloud.place import Offer
from panel.booth.aloud.sitting import Sitting
from panel.booth.aloud.terminal import plain_text
from panel.errors import StoreError, TablesChanged
from panel.kinds import ServingStatus, SessionStatus
from panel.seat import said
from panel.seat.keeper import Keeper
from panel.seat.records import Records, SignedIn
from panel.store import booth_queries
from panel.store.engine import Store
from panel.store.sessions import LeadCall, PanelSession, Serving, SessionAssessor
from tests.booth.by_lines import Hand, Meanwhile, sit
from tests.booth.sitting import pragma, set_stage
from tests.booth.test_trouble import upgrade_between
from tests.houses.at_the_booth import CODES, NAME, PINS, WORDS, Wall, kept_scores
from tests.houses.own_words_at_the_booth import named, open_own_words, own_scores

KEPT = re.compile(r"(.+) (\d+), kept \d\d:\d\d:\d\d\.")
TEN = [str(10 * line) for line in range(10)]


def glasses(store: Store, code: str) -> list[Serving]:
    asked = select(Serving).where(Serving.code == code).order_by(Serving.id)
    with store.read() as db:
        return list(db.scalars(asked))


def test_a_whole_session_and_each_score_is_on_disk_before_it_is_called_kept(
    evening: Store, wall: Wall
) -> None:
    at = ""

    def on_disk(line: str) -> None:
        nonlocal at
        if line.startswith("Glass ") and line.endswith("is in your hand."):
            at = line.split()[1]
        if found := KEPT.fullmatch(line):
            assert kept_scores(evening, "A1", at)[found[1]] == int(found[2])

    answers: list[str | Meanwhile] = []
    for code in CODES:
        answers += [code, *TEN, "p", lambda: wall.pass_s(60)]
    hand, _, ended = sit(evening, wall, *answers, heed=on_disk)
    assert ended == 0
    assert sum(KEPT.fullmatch(line) is not None for line in hand.said) == 10 * len(CODES)
    wanted = {word: 10.0 * line for line, (word, _) in enumerate(WORDS)}
    assert all(kept_scores(evening, "A1", glass) == wanted for glass in CODES)
    assert "All your glasses are done. Thank you. The lead closes the session." in hand.said
    assert hand.said[-1].startswith("All that was said as kept is on disk")
    assert hand.unseen == [PINS["A1"]]
    assert PINS["A1"] not in hand.text


def test_a_line_is_asked_with_its_meaning_ends_and_what_stands_on_it(
    evening: Store, wall: Wall
) -> None:
    hand, *_ = sit(evening, wall, "538", "62", "", "line 1", "x", "-1", "101", "6.5", "sixty")
    assert "Line 2 of 10, dried fruit: raisin, fig, prune" in hand.said
    assert "From 0 not perceived to 100 very strong. Now blank." in hand.said
    assert "From 0 not perceived to 100 very strong. Now 62, kept 18:00:00." in hand.said
    assert "orchard fruit blank, kept 18:00:00." in hand.said
    refused = [line for line in hand.said if line.startswith("Attention: A score on orchard")]
    assert len(refused) == 4
    assert kept_scores(evening, "A1", "538") == {}


def test_blank_is_not_scored_and_none_of_the_rest_is_zero_on_purpose(
    evening: Store, wall: Wall
) -> None:
    blanks = [""] * 9
    hand, *_ = sit(evening, wall, "538", "62", *blanks, "p", "n", "n", "y", "u", "p", "y")
    assert "9 lines are still blank. Enter goes to the first of them." in hand.text
    assert "Blank means not scored; it is not zero. Put 538 down?" in hand.text
    assert "0 set on 9 lines. u takes that back." in hand.said
    assert "Blank again: 9 lines." in hand.said
    assert "538 is put down, with everything kept." in hand.said
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}
    [glass] = [g for g in glasses(evening, "538") if g.person_id == 1]
    assert glass.finished_at is not None


def test_marks_a_note_calls_and_ones_own_mark(evening: Store, wall: Wall) -> None:
    hand, *_ = sit(
        *(evening, wall, "538", "m", "1 9", "1 3", "m", "1", "t", "a tyre, [/x]", "t", "-"),
        *("t", "tar", "c", "0", "3", "k", "2", "k", "3"),
    )
    for fact in (
        "Numbers from 1 to 7, or Enter.",
        "Fault mark: sulphur. Kept 18:00:00.",
        "1 sulphur: marked",
        "Fault mark taken off: sulphur. Kept 18:00:00.",
        "Now: a tyre, [/x]",
        "The lead is called (water), since 18:00:00.",
        "Marked: not my best nose today. Kept 18:00:00.",
        "The lead is called (other), since 18:00:00.",
        "Off. Kept 18:00:00.",
    ):
        assert fact in hand.said
    with evening.read() as db:
        seat = booth_queries.take_seat(db, NAME, "A1", now=wall())
        glass = booth_queries.tray(db, seat).glasses[0]
        assert set(glass.faults) == {"rubber"}
        assert glass.note == "tar"
        calls = list(db.scalars(select(LeadCall).order_by(LeadCall.id)))
        assert [(c.reason, c.serving_id) for c in calls] == [
            ("water", glass.serving_id),
            ("other", None),
        ]
        assert not db.scalar(select(SessionAssessor.not_at_best).where(SessionAssessor.seat == 0))


def test_order_pause_way_back_and_a_wrong_code(evening: Store, wall: Wall) -> None:
    hand, *_ = sit(
        *(evening, wall, "53", "999", "417", "n", "417", "y", "p", "y", "538", "w", "b"),
        *("417", "y", "p", "y", lambda: wall.pass_s(60), "538"),
    )
    assert "Attention: 999 is not on your tray. Look at the glass again." in hand.said
    assert hand.said.count("538 comes before 417 on your tray.") == 2
    assert "Pause: the next glass in 1:00" in hand.said
    assert "Attention: The pause still runs: wait until it is over." in hand.said
    assert "Next on your tray: 538 (the warm-up glass)." in hand.said
    assert "Type the code of the glass to go back to: 417." in hand.said
    assert "417 is finished." in hand.said
    assert hand.said.count("The pause is over.") == 1
    assert hand.since("The pause is over.")[0] == "Glass 538 is in your hand."


def test_a_pause_is_waited_for_no_longer_than_it_lasts(evening: Store, wall: Wall) -> None:
    pauses = (lambda: wall.pass_s(58), lambda: wall.pass_s(2), lambda: None)
    hand, *_ = sit(evening, wall, "538", "p", "y", *pauses)
    assert hand.waits_s == [4.0, 2.0, 4.0]


def test_what_the_lead_does_meanwhile_is_said(evening: Store, wall: Wall) -> None:
    def pour_again() -> None:
        with evening.write() as db:
            first = db.scalars(select(Serving).where(Serving.code == "538")).first()
            assert first is not None
            first.status = ServingStatus.RE_POURED
            anew = {"person_id": first.person_id, "flight": 1, "position": 0, "code": "538"}
            db.add(Serving(session_id=first.session_id, **anew, warm_up=True, pouring=2))

    def take_out() -> None:
        with evening.write() as db:
            db.execute(update(Serving).where(Serving.code == "746").values(status="void"))

    def answer_call() -> None:
        with evening.write() as db:
            db.execute(update(LeadCall).values(answered_at=wall()))

    hand, *_ = sit(
        *(evening, wall, "538", "62", "c", "3", answer_call, pour_again, take_out),
        *(lambda: wall.pass_s(60), "538"),
    )
    assert "No call for the lead is open any more." in hand.said
    anew = "Attention: 538 was poured again. Take the new glass and type its code."
    assert anew in hand.said
    assert "0 of 4 glasses done" in hand.since(anew)
    assert "0 of 10 lines scored, 10 blank." in hand.since("0 of 4 glasses done")


def test_own_words_are_named_mended_taken_back_and_scored(store: Store, wall: Wall) -> None:
    open_own_words(store, most=3)
    hand, *_ = sit(
        *(store, wall, "", "tar  rope", "z", "plumm", "m", "2", "plum", "soap", "one more"),
        *("x", "3", "Plum", "桃", "w", "g", "538", "40", "1", "", "o", "m", "", "g", "p", "y"),
    )
    assert "Attention: Name at least one word first." in hand.said
    assert "Attention: That letter means nothing here." in hand.text
    assert "Attention: 3 words at most here: take back one first." in hand.said
    assert "soap is taken back. Kept 18:00:00." in hand.said
    assert named(store, "A1") == ["tar rope", "plum", "桃"]
    assert own_scores(store, "A1", "538") == {"tar rope": 40, "plum": 1}
    assert "2 plum: kept, scored." in hand.said
    assert "538 is put down, with everything kept." in hand.said


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
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


def test_leaving_gives_the_booth_to_the_next(evening: Store, wall: Wall) -> None:
    hand, *_ = sit(evening, wall, "538", "62", "l", "A2", PINS["A2"], "538", "7", "q")
    assert "A2 is signed in." in hand.said
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}
    assert kept_scores(evening, "A2", "538") == {"orchard fruit": 7}
    assert hand.said[-1].startswith("The booth is closed.")


@pytest.mark.parametrize("at", ["words", "glass", "between"])
def test_a_letter_means_what_the_same_key_means_at_the_screen(
    store: Store, wall: Wall, at: str
) -> None:
    open_own_words(store)
    records = Records(store, NAME, wall)
    records.open()
    signed = records.sign_in("A1", PINS["A1"])
    assert isinstance(signed, SignedIn)
    sitting = Sitting(records, Hand([]), Keeper(), signed.seat, signed.tray)
    groups = {
        "words": (*keys.WORD_KEYS, *keys.SEAT_KEYS),
        "glass": (*keys.LINE_KEYS, *keys.GLASS_KEYS, *keys.OWN_WORD_KEYS, *keys.SEAT_KEYS),
        "between": (*keys.BETWEEN_KEYS, *keys.OWN_WORD_KEYS, *keys.SEAT_KEYS),
    }
    if at != "words":
        with store.write() as db:
            booth_queries.name_word(db, signed.seat, "tar", wall())
    if at == "glass":
        with store.write() as db:
            booth_queries.take_glass(db, signed.seat, "538", wall())
    with store.read() as db:
        sitting.tray = booth_queries.tray(db, signed.seat)
    at_screen = {
        letter: key.id
        for key in groups[at]
        if isinstance(key, Binding)
        for letter in key.key.split(",")
        if len(letter) == 1
    }
    offered: dict[str, Offer] = standing(sitting).offered
    shared = offered.keys() & at_screen.keys()
    assert {letter: offered[letter].name for letter in shared} == {
        letter: at_screen[letter] for letter in shared
    }
    unreached = set(at_screen) - set(offered) - {*"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"}
    assert unreached <= {"s", "f", "e", "d", "o"}


def test_what_a_terminal_would_obey_is_neither_said_nor_heard() -> None:
    assert plain_text("tar\x1b[31m\x1b[Ared\x07\t!\x9b") == "tarred !"


def test_a_note_cannot_speak_to_the_terminal(evening: Store, wall: Wall) -> None:
    with evening.write() as db:
        db.execute(update(PanelSession).values(name="night\x1b[2J"))
    hand, *_ = sit(evening, wall, session=None)
    assert "A1 is signed in." in hand.said
