from __future__ import annotations

import pytest
from sqlalchemy import select
from textual.pilot import Pilot

from panel.booth.app import BoothApp
from panel.booth.dialogs import Ask, Choose, WriteNote
from panel.booth.glass import GlassScreen
from panel.booth.line_scale import Keeping, LineScale
from panel.booth.window import TopLine
from panel.store.engine import Store
from panel.store.sessions import FaultMark, LeadCall, ScoreChange, ServingNote, SessionAssessor
from tests.booth.sitting import (
    drained,
    glass,
    keys,
    press,
    said,
    seated,
    settled,
    sign_in_by_keys,
    text,
    to_between,
    until,
    values,
    with_glass,
)
from tests.houses.at_the_booth import NAME, PINS, WORDS, Wall, kept_scores, open_evening
from tests.thinned import some_rows


async def test_no_mark_stands_on_a_line_before_the_first_key(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        assert set(values(app).values()) == {None}
        assert "◆" not in text(app)
        assert text(app).count("blank") >= len(WORDS)
    assert kept_scores(evening, "A1", "538") == {}


@pytest.mark.parametrize(
    ("pressed", "value"),
    some_rows(
        [
            (("right",), 1),
            (("f",), 1),
            (("left",), 0),
            (("s",), 0),
            (("shift+right",), 5),
            (("F",), 5),
            (("shift+right", "shift+right", "left"), 9),
            (("F", "F", "s"), 9),
            (("S",), 0),
            (("6", "2"), 62),
            (("6", "2", "backspace"), 6),
            (("6", "2", "backspace", "5"), 65),
            (("1", "0", "0"), 100),
            (("1", "0", "0", "right"), 100),
            (("0", "0", "7"), 7),
            (("6", "2", "x"), None),
            (("6", "2", "delete"), None),
            (("7", "backspace"), None),
            (("6", "2", "right", "9"), 9),
        ],
        3,
    ),
)
async def test_either_hand_sets_a_line(
    evening: Store, wall: Wall, pressed: tuple[str, ...], value: int | None
) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *pressed)
        assert values(app)["orchard fruit"] == value
    kept = kept_scores(evening, "A1", "538")
    assert kept == ({} if value is None else {"orchard fruit": value})


@pytest.mark.slow
@pytest.mark.parametrize("down", ["down", "d", "enter", "space", "tab"])
async def test_every_way_to_the_next_line(evening: Store, wall: Wall, down: str) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, down, "7")
        assert values(app)["dried fruit"] == 7
        await keys(app, "e" if down == "d" else "up", "8")
        assert values(app)["orchard fruit"] == 8


@pytest.mark.slow
async def test_a_burst_of_keys_lands_where_it_was_meant(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        press(app, *"62", "enter", *"10", "enter", *"7", "down", "down", *"100", "enter")
        await settled(app)
        shown = [value for value in values(app).values() if value is not None]
        assert shown == [62, 10, 7, 100]
    kept = kept_scores(evening, "A1", "538")
    assert kept == {"orchard fruit": 62, "dried fruit": 10, "cut grass": 7, "bonfire": 100}


@pytest.mark.slow
async def test_too_high_a_number_leaves_the_line_as_it_was(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"55", "down", "up", *"417")
        assert values(app)["orchard fruit"] == 55
        assert "417 is over 100: the line stands as before" in said(app)
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 55}


async def test_kept_is_said_only_of_what_is_on_disk(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        press(app, *"62")
        await drained(app)
        line = glass(app).scales[0]
        assert (line.value, line.keeping) == (62, Keeping.UNDER_WAY)
        assert "keeping ..." in text(app)
        assert kept_scores(evening, "A1", "538") == {}
        wall.pass_s(247)
        await settled(app)
        assert line.keeping is Keeping.KEPT
        assert "kept 18:04:07" in text(app)
        assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


@pytest.mark.slow
@pytest.mark.parametrize("written", ["1e300", "-50"])
async def test_what_is_no_number_on_the_line_counts_as_blank(
    evening: Store, wall: Wall, written: str
) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62")
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}
    with evening.engine.begin() as past_the_program:
        past_the_program.exec_driver_sql(f"UPDATE score SET value = {written}")
    async with seated(evening, wall) as app:
        await until(app, lambda: isinstance(app.screen, GlassScreen) and app.screen.ready)
        assert glass(app).scales[0].value is None
        assert glass(app).scales[0].keeping is Keeping.NOTHING
        await keys(app, *"40")
        assert kept_scores(evening, "A1", "538") == {"orchard fruit": 40}


async def test_a_held_key_is_few_saves_and_the_last_value_is_kept(
    evening: Store, wall: Wall
) -> None:
    async with with_glass(evening, wall) as app:
        press(app, *(["right"] * 60))
        await settled(app)
        assert values(app)["orchard fruit"] == 60
        assert "kept 18:00:00" in text(app)
    with evening.read() as db:
        changes = [change.value for change in db.scalars(select(ScoreChange))]
    assert changes[-1] == 60
    assert len(changes) < 10


@pytest.mark.slow
async def test_none_of_the_rest_asks_in_words_and_can_be_undone(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62", "n")
        assert isinstance(app.screen, Ask)
        assert app.screen.question.startswith("None of the rest? This sets 0, not perceived, on 9 ")
        await keys(app, "n")
        assert list(values(app).values()).count(None) == 9
        await keys(app, "n", "y")
        assert set(kept_scores(evening, "A1", "538").values()) == {62, 0}
        await keys(app, "down", *"15")
        await keys(app, "u")
        assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62, "dried fruit": 15}
        assert list(values(app).values()).count(None) == 8


@pytest.mark.slow
async def test_a_glass_with_blank_lines_asks_once(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62", "p")
        assert isinstance(app.screen, Ask)
        assert app.screen.question.startswith("9 lines are blank: dried fruit, ")
        assert app.screen.question.endswith("Blank means not scored; it is not zero. Put 538 down?")
        await keys(app, "escape")
        assert glass(app).glass.code == "538"
        await keys(app, "p", "enter")
        await to_between(app)
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


@pytest.mark.slow
async def test_a_full_sheet_is_put_down_without_a_question(store: Store, wall: Wall) -> None:
    open_evening(store, words=WORDS[:2])
    async with with_glass(store, wall) as app:
        await keys(app, *"62", "enter", *"10", "enter")
        assert said(app) == "Every line is scored. p puts the glass down."
        press(app, "p")
        await to_between(app)


@pytest.mark.slow
async def test_enter_after_the_last_line_leads_to_the_first_blank_one(
    store: Store, wall: Wall
) -> None:
    open_evening(store, words=WORDS[:3])
    async with with_glass(store, wall) as app:
        await keys(app, *"62", "enter", "enter", *"10", "enter")
        assert glass(app).at == 1
        assert said(app).startswith("1 line is still blank")


@pytest.mark.slow
async def test_fault_marks_are_one_key_and_a_small_chooser(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, "m")
        assert isinstance(app.screen, Choose)
        await keys(app, "2", "5", "enter")
        assert "Fault marks: mould or cork, soapy." in text(app)
        await keys(app, "m", "2", "enter")
        await keys(app, "m", "4", "escape")
        assert "Fault marks: soapy." in text(app)
    with evening.read() as db:
        assert [mark.fault.value for mark in db.scalars(select(FaultMark))] == ["soapy"]


@pytest.mark.slow
async def test_a_note_is_kept_as_typed(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, "t")
        assert isinstance(app.screen, WriteNote)
        await keys(app, *"[/x] pm", "enter")
        assert "Note: kept." in text(app)
    with evening.read() as db:
        assert db.scalars(select(ServingNote.text)).all() == ["[/x] pm"]


@pytest.mark.slow
async def test_the_lead_is_called_with_a_reason_and_the_glass(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, "c", "1")
        assert "lead called 18:00" in app.screen.query_one(TopLine).place
        with evening.read() as db:
            call = db.scalars(select(LeadCall)).one()
            assert (call.reason.value, call.serving_id) == ("spilled", glass(app).glass.serving_id)


@pytest.mark.slow
async def test_not_my_best_nose_is_marked_without_a_cause_and_taken_off(
    evening: Store, wall: Wall
) -> None:
    def marked() -> list[bool]:
        with evening.read() as db:
            return list(db.scalars(select(SessionAssessor.not_at_best)))

    async with with_glass(evening, wall) as app:
        await keys(app, "k", "1")
        assert marked() == [True, False, False]
        assert "nose" not in app.screen.query_one(TopLine).place
        await keys(app, "k", "3")
        assert marked() == [False, False, False]
        await keys(app, "k", "2")
        assert marked() == [True, False, False]
    with evening.read() as db:
        assert [call.reason.value for call in db.scalars(select(LeadCall))] == ["other"]


@pytest.mark.slow
async def test_mouse_and_finger_set_the_mark_on_the_line(evening: Store, wall: Wall) -> None:
    app = BoothApp(evening, session=NAME, clock=wall)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(app, lambda: app.records.are_open)
        await sign_in_by_keys(app, "A1", PINS["A1"])
        await keys(app, *"538", "enter")
        await until(app, lambda: glass(app).ready)
        line = glass(app).scales[2]
        start, cells = line._scale_start(), line._scale_cells()
        await click(pilot, line, start + cells - 1)
        assert (line.value, glass(app).at) == (100, 2)
        await click(pilot, line, start)
        assert line.value == 0
        await pilot.mouse_down(line, offset=(start + 5, 0))
        await pilot.hover(line, offset=(start + cells // 2, 0))
        await pilot.mouse_up(line, offset=(start + cells // 2, 0))
        await settled(app)
        assert line.value is not None
        assert 45 <= line.value <= 55
        assert kept_scores(evening, "A1", "538") == {"cut grass": line.value}
        await click(pilot, glass(app).scales[4], 4)  # on the name: goes there, sets nothing
        assert (glass(app).at, glass(app).scales[4].value) == (4, None)


async def click(pilot: Pilot[None], line: LineScale, x: int) -> None:
    await pilot.mouse_down(line, offset=(x, 0))
    await pilot.mouse_up(line, offset=(x, 0))


@pytest.mark.slow
async def test_more_than_ten_lines_scroll_with_the_line_in_hand(store: Store, wall: Wall) -> None:
    many = tuple((f"note {i:02d}", "") for i in range(1, 17))
    open_evening(store, words=many)
    async with with_glass(store, wall) as app:
        assert "note 01" in text(app)
        assert "note 16" not in text(app)
        await keys(app, *(["down"] * 15), *"44")
        assert "note 16" in text(app)
        assert "note 01" not in text(app)
    assert kept_scores(store, "A1", "538") == {"note 16": 44}


async def test_names_and_words_of_users_are_never_markup(store: Store, wall: Wall) -> None:
    open_evening(store, words=(("[/x]", "[bold]as such[/bold]"),))
    async with with_glass(store, wall) as app:
        assert "[/x]" in text(app)
        assert "[bold]as such[/bold]" in text(app)
        await keys(app, "n")
        assert "[/x]" in text(app)
