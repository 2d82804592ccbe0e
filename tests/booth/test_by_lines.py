"""The plain booth: the whole session by questions and answers, and nothing called kept too soon."""

from __future__ import annotations

import json
import re

import pytest
from sqlalchemy import select, update
from textual.binding import Binding

from panel.booth import keys
from panel.booth.aloud.kinds import standing
from panel.booth.aloud.place import Offer
from panel.booth.aloud.sitting import Sitting
from panel.booth.aloud.terminal import plain_text
from panel.kinds import CallReason, ServingStatus
from panel.seat.care import CARES, Wrong
from panel.seat.keeper import Keeper
from panel.seat.records import Records, SignedIn
from panel.store import booth_queries
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.sessions import LeadCall, PanelSession, Serving, SessionAssessor
from tests.booth.by_lines import Hand, Meanwhile, sit
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


def test_whoever_names_no_glass_stops_what_was_nosed_last(evening: Store, wall: Wall) -> None:
    hand, *_ = sit(evening, wall, "538", "p", "y", "h", "1", "")
    assert any(each.startswith("Put it down. Which glass is not safe?") for each in hand.said)
    assert any("I do not know: 538, nosed last" in each for each in hand.said)
    with evening.read() as db:
        [call] = db.scalars(select(LeadCall))
        assert call.serving is not None
        assert call.serving.code == "538"


def test_what_is_not_safe_calls_the_lead_and_of_the_unwell_nothing_is_kept(
    evening: Store, wall: Wall
) -> None:
    with evening.read() as db:
        before = len(list(db.scalars(select(LogEntry.id))))
    hand, *_ = sit(evening, wall, "h", "2", "538", "h", "1", "h", "")
    assert CARES[Wrong.UNWELL].told in hand.said
    assert CARES[Wrong.NOT_SAFE].told in hand.said
    assert any("538 is stopped: what is in it may not be safe" in each for each in hand.said)
    with evening.read() as db:
        [call] = db.scalars(select(LeadCall))
        assert call.reason is CallReason.NOT_SAFE
        assert call.serving is not None
        assert call.serving.code == "538"
        entries = list(db.scalars(select(LogEntry).order_by(LogEntry.id)))[before:]
    told = [json.loads(entry.body_json or "{}")["action"] for entry in entries]
    assert told == ["booth signed in", "glass taken", "lead called"]


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
