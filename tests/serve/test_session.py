"""A whole session through plain requests, as a browser without a script sends them."""

from __future__ import annotations

from sqlalchemy import select

from panel.kinds import SessionStatus
from panel.seat.care import CARES
from panel.serve.joining import shown_code
from panel.serve.served import Served
from panel.store.engine import Store
from panel.store.sessions import LeadCall
from tests.booth.sitting import set_stage
from tests.houses.at_the_booth import CODES, PINS, WORDS, Wall, kept_scores
from tests.houses.own_words_at_the_booth import named, open_own_words, own_scores
from tests.serve.browsing import Browser, browser_of, seated, served_for


def take(browser: Browser, code: str) -> None:
    browser.deed("take", code=code, sure=code)
    assert browser.look().body["data-about"] == f"glass {code}.1"


def test_from_the_join_code_to_the_end_of_the_tray(evening: Store, wall: Wall) -> None:
    served = served_for(evening, wall)
    with browser_of(served) as browser:
        assert browser.look().body["data-about"] == "join"
        assert browser.join(shown_code(served.joining.code)).body["data-about"] == "sign in False"
        assert browser.sign_in("a1", PINS["A1"]).body["data-about"] == "between 0"
        for place, code in enumerate(CODES):
            take(browser, code)
            values = {f"line_{line}": str(line + place) for line in range(1, len(WORDS))}
            page = browser.deed("scores", **values)
            assert "1 line is blank: wet wool." in " ".join(page.words)
            page = browser.deed("rest")
            assert page.said == "0 set on 1 line."
            page = browser.deed("down")
            assert page.said == f"{code} is put down, with everything kept."
            wall.pass_s(60)
        assert "All your glasses are done." in " ".join(browser.look().words)
    for place, code in enumerate(CODES):
        wanted = {word: place + line for line, (word, _) in enumerate(WORDS, start=1)}
        assert kept_scores(evening, "A1", code) == {**wanted, "wet wool": 0}


def test_marks_calls_notes_and_the_way_back(evening: Store, wall: Wall) -> None:
    with seated(served_for(evening, wall)) as browser:
        take(browser, "538")
        assert browser.deed("fault", fault="sulphur:on").said.startswith("Fault mark: sulphur.")
        page = browser.look()
        assert ("fault", "sulphur:off") in page.buttons
        browser.deed("fault", fault="sulphur:off")
        assert "Fault marks: none." in " ".join(browser.look().words)
        assert browser.deed("note", text="a tyre, <b>[/x]</b>").said.startswith("Note kept 1")
        assert "a tyre, &lt;b&gt;[/x]&lt;/b&gt;" in browser.client.get("/").text
        assert browser.deed("call", reason="water").said.startswith("The lead is called (water)")
        assert "lead called 18:00" in " ".join(browser.look().words)
        said = browser.deed("mark", choice="call").said
        assert said.startswith("Marked: not my best nose today.")
        assert "The lead is called (other)" in said
        browser.deed("mark", choice="off")
        browser.deed("down")
        page = browser.deed("take", code="538")
        assert page.said == "538 is finished."
        assert page.forms["take"]["sure"] == "538"
        assert browser.deed("take", code="538", sure="538").body["data-about"] == "glass 538.1"


def test_what_is_not_safe_is_stopped_at_once_and_of_the_unwell_nothing_is_sent(
    evening: Store, wall: Wall
) -> None:
    with seated(served_for(evening, wall)) as browser:
        take(browser, "538")
        page = browser.look()
        words = " ".join(page.words)
        assert all(care.told in words for care in CARES.values())
        assert [value for name, value in page.buttons if name == "unsafe"] == ["538.1 "]
        assert "unwell" not in {value for _, value in page.buttons}
        page = browser.deed("call", unsafe="538.1 ")
        assert page.said.startswith("The lead is called, and what is in that glass is stopped")
        assert page.body["data-about"] == "between 0"
        assert "538 is stopped" in browser.deed("take", code="538").said


def test_without_a_glass_in_hand_it_is_asked_which_is_not_safe(evening: Store, wall: Wall) -> None:
    with seated(served_for(evening, wall)) as browser:
        first = [value for name, value in browser.look().buttons if name == "unsafe"]
        assert first[0] == "538.1 ", "nothing was nosed: the tray in its order"
        assert first[-1] == ""
        take(browser, "538")
        browser.deed("down")
        page = browser.look()
        named = [value for name, value in page.buttons if name == "unsafe"]
        assert named[0] == named[-2] == "538.1 ", "the last one nosed, for whoever does not know"
        assert "Which glass is not safe?" in " ".join(page.words)
        browser.deed("call", unsafe=named[-1])
        assert "is stopped" not in browser.look().said
        assert "is stopped" in browser.deed("call", unsafe=named[-2]).said
    with evening.read() as db:
        calls = list(db.scalars(select(LeadCall.serving_id).order_by(LeadCall.id)))
    assert calls[0] is None
    assert calls[1] is not None


def test_a_glass_out_of_order_is_asked_about_and_a_pause_holds(evening: Store, wall: Wall) -> None:
    with seated(served_for(evening, wall)) as browser:
        page = browser.deed("take", code="417")
        assert page.said == "! 538 comes before 417 on your tray."
        assert browser.look().body["data-about"] == "between 0"
        page = browser.deed("take", code="999")
        assert (browser.page.status_code, page.said[:6]) == (410, "! 999 ")
        take(browser, "417")
        browser.deed("down")
        assert browser.deed("take", code="538").said.startswith("! The pause still runs")
        assert "Pause: the next glass in 1:00" in " ".join(browser.look().words)


def test_own_words_are_named_mended_taken_back_and_scored(store: Store, wall: Wall) -> None:
    open_own_words(store)
    with seated(served_for(store, wall)) as browser:
        assert browser.look().body["data-about"] == "own words"
        browser.deed("word", word="tar  rope")
        browser.deed("word", at="/words", word="<i>plum</i>")
        assert "<i>" not in browser.client.get("/words").text
        browser.deed("mend", at="/words", which="2", word="plum")
        browser.deed("word", at="/words", word="soap")
        assert browser.deed("unword", at="/words", which="3", word="soap").said.startswith(
            "soap is"
        )
        assert named(store, "A1") == ["tar rope", "plum"]
        take(browser, "538")
        browser.deed("scores", line_1="30", line_2="")
        assert own_scores(store, "A1", "538") == {"tar rope": 30}
        page = browser.deed("word", at="/words", word="tar rope")
        assert (browser.page.status_code, page.said[:2]) == (409, "! ")


def test_zeros_are_taken_back(evening: Store, wall: Wall) -> None:
    with seated(served_for(evening, wall)) as browser:
        take(browser, "538")
        browser.deed("scores", line_1="40")
        form = browser.deed("rest").forms["zeros"]
        page = browser.post("/deed", form)
        assert page.said == "Blank again: 9 lines."
        assert kept_scores(evening, "A1", "538") == {"orchard fruit": 40}


def test_before_its_session_a_booth_waits_and_after_it_holds_nothing(
    evening: Store, wall: Wall
) -> None:
    served: Served = served_for(evening, wall)
    set_stage(evening, SessionStatus.SEALED)
    with browser_of(served) as browser:
        browser.join(served.joining.code)
        page = browser.sign_in("A1")
        assert "is not open yet" in page.said
        assert browser.look().body["data-look"] == "4"
        set_stage(evening, SessionStatus.OPEN)
        assert browser.sign_in("A1").body["data-about"] == "between 0"
        code = served.joining.code
        set_stage(evening, SessionStatus.CLOSED)
        assert "was closed" in browser.look().said
        assert browser.page.status_code == 503
        assert served.joining.code == code
        set_stage(evening, SessionStatus.OPEN)
        assert browser.look().body["data-about"] == "between 0"
        set_stage(evening, SessionStatus.REVEALED)
        assert browser.look().body["data-over"] == "yes"
        assert "oakpanel_seat_8460" not in browser.client.cookies
        assert served.joining.code != code
