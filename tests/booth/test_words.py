"""Own words at the booth: named while the first flight is nosed, then scored like any line."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from panel.booth.app import BoothApp
from panel.booth.between import BetweenScreen
from panel.booth.seated import SeatedScreen
from panel.booth.words import WordsScreen, WriteWord
from panel.kinds import SessionStatus
from panel.store.engine import Store
from tests.booth.by_keys import name_by_keys, score_by_keys
from tests.booth.sitting import (
    booth,
    glass,
    keys,
    pragma,
    press,
    rows,
    said,
    seated,
    set_stage,
    settled,
    sign_in_by_keys,
    text,
    to_between,
    until,
    values,
)
from tests.booth.test_looks import compare, in_front, too_faint
from tests.houses.at_the_booth import PINS, Wall
from tests.houses.own_words_at_the_booth import named, open_own_words, own_scores
from tests.thinned import some


@pytest.fixture
def own(store: Store) -> Store:
    open_own_words(store)
    return store


@asynccontextmanager
async def named_by(
    store: Store, wall: Wall, *words: str, who: str = "A1", size: tuple[int, int] = (80, 24)
) -> AsyncIterator[BoothApp]:
    """Seat somebody and have them name words; the booth asks for a glass then."""
    async with seated(store, wall, who, size) as app:
        await name_by_keys(app, words)
        yield app


async def word(app: BoothApp, typed: str) -> None:
    """Name one word where the words stand on the screen."""
    await keys(app, "enter")
    await until(app, lambda: isinstance(app.screen, WriteWord))
    await keys(app, *typed, "enter")
    await until(app, lambda: not isinstance(app.screen, WriteWord))
    await settled(app)


async def take(app: BoothApp, code: str) -> None:
    await keys(app, *code, "enter")
    await until(app, lambda: any(g.taken_at and not g.finished_at for g in app.tray_now.glasses))
    await settled(app)


@pytest.mark.slow
async def test_the_first_thing_is_to_name_words_and_the_glasses_to_nose_are_told(
    own: Store, wall: Wall
) -> None:
    async with seated(own, wall) as app:
        assert isinstance(app.screen, WordsScreen)
        assert "Your first flight: 538 (warm-up)  417  382  295  746" in text(app)
        assert "Your words: 0 of at most 8" in text(app)
        await word(app, "wet slate")
        assert "1 wet slate" in text(app)
        assert said(app) == "wet slate is a line on every glass. Kept 18:00:00."
    assert named(own, "A1") == ["wet slate"]
    assert named(own, "A2") == []


async def test_a_word_is_kept_only_when_it_is_on_disk(own: Store, wall: Wall) -> None:
    async with seated(own, wall) as app:
        with pragma(own, "query_only=ON", "query_only=OFF"):
            await word(app, "tar")
            assert "not kept yet" in text(app)
            assert "is a line" not in said(app)
            await keys(app, "g")
            assert isinstance(app.screen, WordsScreen)
        assert named(own, "A1") == []
        await keys(app, "r")
        assert "not kept yet" not in text(app)
    assert named(own, "A1") == ["tar"]


async def test_no_glass_without_a_word(own: Store, wall: Wall) -> None:
    async with seated(own, wall) as app:
        await keys(app, "g")
        assert isinstance(app.screen, WordsScreen)
        assert "Name at least one word first" in said(app)


@pytest.mark.slow
async def test_the_words_are_the_lines_of_every_glass(own: Store, wall: Wall) -> None:
    async with named_by(own, wall, "wet slate", "[/x]") as app:
        await take(app, "538")
        assert values(app) == {"wet slate": None, "[/x]": None}
        await keys(app, *"62", "enter", *"7", "enter")
        assert "kept 18:00:00" in text(app)
        assert "[/x]: your own word" in text(app)
        assert "not perceived" in text(app)
        assert "very strong" in text(app)
    assert own_scores(own, "A1", "538") == {"wet slate": 62, "[/x]": 7}


@pytest.mark.slow
async def test_nobody_sees_the_words_of_another(own: Store, wall: Wall) -> None:
    async with named_by(own, wall, "wet slate", "tar"):
        pass
    async with seated(own, wall, "A2") as app:
        assert isinstance(app.screen, WordsScreen)
        assert "slate" not in text(app)
        assert "Your words: 0" in text(app)
        await name_by_keys(app, ["tar"])
        await take(app, "538")
        assert list(values(app)) == ["tar"]
        await keys(app, *"33", "enter")
    assert own_scores(own, "A2", "538") == {"tar": 33}
    assert own_scores(own, "A1", "538") == {}


@pytest.mark.slow
@pytest.mark.parametrize("again", ["tar", "Tar", " TAR "])
async def test_the_same_word_twice_is_refused(own: Store, wall: Wall, again: str) -> None:
    async with seated(own, wall) as app:
        await word(app, "tar")
        await word(app, again)
        assert "'tar' is among your words already" in said(app)
    assert named(own, "A1") == ["tar"]


@pytest.mark.slow
async def test_blanks_are_one_and_an_empty_word_is_none(own: Store, wall: Wall) -> None:
    async with seated(own, wall) as app:
        await word(app, "  wet   slate ")
        await word(app, "   ")
        await keys(app, "enter")
        await keys(app, *"tar", "escape")
    assert named(own, "A1") == ["wet slate"]


@pytest.mark.slow
async def test_a_word_is_written_anew_or_taken_back_until_it_is_scored(
    own: Store, wall: Wall
) -> None:
    async with seated(own, wall) as app:
        for typed in ("wet slat", "tar", "clove"):
            await word(app, typed)
        await keys(app, "up", "up", "m")
        assert isinstance(app.screen, WriteWord)
        await keys(app, "e", "enter")
        assert said(app) == "Written anew. Kept 18:00:00."
        await keys(app, "down", "x")
        assert said(app) == "tar is taken back. Kept 18:00:00."
        assert named(own, "A1") == ["wet slate", "clove"]
        await keys(app, "g")
        await take(app, "538")
        await keys(app, *"50", "enter", "o")
        assert "kept, scored" in text(app)
        await keys(app, "up", "m")
        assert said(app) == "! wet slate has been scored: it stays as it is."
        await keys(app, "x")
        assert said(app) == "! wet slate has been scored: it stays as it is."
        await keys(app, "down", "x")
    assert named(own, "A1") == ["wet slate"]


@pytest.mark.slow
async def test_the_only_word_stays_once_a_glass_was_taken(own: Store, wall: Wall) -> None:
    async with named_by(own, wall, "tar") as app:
        await take(app, "538")
        await keys(app, "o", "x")
        assert "your only word" in said(app)
    assert named(own, "A1") == ["tar"]


@pytest.mark.slow
async def test_one_more_word_beside_the_glass_and_what_is_blank_is_said(
    own: Store, wall: Wall
) -> None:
    async with named_by(own, wall, "tar") as app:
        await take(app, "538")
        await keys(app, *"20", "enter", "p")
        await to_between(app)
        await take(app, "417")
        await keys(app, *"30", "o")
        await word(app, "clove")
        assert said(app).endswith("It is blank on 538: go back to score it.")
        await keys(app, "g")
        assert values(app) == {"tar": 30, "clove": None}
        assert glass(app).at == 1
        await keys(app, *"44", "enter", "p")
        await to_between(app)
        await keys(app, *"538", "enter")
        await until(app, lambda: glass(app).ready)
        assert values(app) == {"tar": 20, "clove": None}
    assert own_scores(own, "A1", "417") == {"tar": 30, "clove": 44}


@pytest.mark.slow
async def test_where_there_is_no_going_back_a_late_word_stays_blank(
    store: Store, wall: Wall
) -> None:
    open_own_words(store, may_go_back=False)
    async with named_by(store, wall, "tar") as app:
        await take(app, "538")
        await keys(app, *"20", "enter", "p", "y")
        await to_between(app)
        await keys(app, "o")
        await word(app, "clove")
        assert said(app).endswith("It is blank on 538: there is no going back.")


@pytest.mark.slow
async def test_after_the_first_flight_no_word_comes_in(store: Store, wall: Wall) -> None:
    open_own_words(store, glasses_in_flight=2)
    async with named_by(store, wall, "tar") as app:
        for code in ("538", "417"):
            await take(app, code)
            await keys(app, *"20", "enter", "p")
            await to_between(app)
        await keys(app, "o")
        await word(app, "moss")
        await keys(app, "g")
        await take(app, "382")
        await keys(app, *"20", "enter", *"10", "enter", "p")
        await to_between(app)
        await keys(app, "o")
        assert "Your first flight is over" in text(app)
        await keys(app, "enter")
        assert isinstance(app.screen, WordsScreen)
        assert "Your first flight is over" in said(app)
        await keys(app, "m")
        assert isinstance(app.screen, WordsScreen)
    assert named(store, "A1") == ["tar", "moss"]


@pytest.mark.slow
async def test_no_more_than_the_plan_allows(store: Store, wall: Wall) -> None:
    open_own_words(store, most=2)
    async with named_by(store, wall, "tar", "moss") as app:
        await keys(app, "o", "enter")
        assert isinstance(app.screen, WordsScreen)
        assert said(app) == "! 2 words at most here: take back one first."


async def test_the_key_is_there_only_in_own_words(evening: Store, wall: Wall) -> None:
    async with seated(evening, wall) as app:
        await keys(app, "o")
        assert isinstance(app.screen, BetweenScreen)
        assert "own words" not in text(app)


@pytest.mark.slow
async def test_another_booth_takes_over_and_what_was_not_kept_is_told(
    own: Store, wall: Wall
) -> None:
    async with seated(own, wall) as first:
        await word(first, "tar")
        async with seated(own, wall) as second:
            await keys(second, "o")
            await word(second, "moss")
        await word(first, "clove")
        assert "the word clove" in text(first)
        assert "A1 signed in at another booth" in text(first)
    assert named(own, "A1") == ["tar", "moss"]


@pytest.mark.slow
async def test_a_closed_session_takes_no_word(own: Store, wall: Wall) -> None:
    async with seated(own, wall) as app:
        set_stage(own, SessionStatus.CLOSED)
        await word(app, "tar")
        assert "was closed" in said(app)
    assert named(own, "A1") == []


async def test_a_lead_who_takes_the_glass_out_meanwhile_does_not_take_the_words_away(
    own: Store, wall: Wall
) -> None:
    async with named_by(own, wall, "tar") as app:
        await take(app, "538")
        await keys(app, "o")
        await word(app, "moss")
        assert isinstance(app.screen, WordsScreen)
        await keys(app, "c", "3")
        assert isinstance(app.screen, WordsScreen)
        await keys(app, "g")
        assert glass(app).glass.code == "538"


@pytest.mark.slow
async def test_a_burst_of_keys_names_what_was_meant(own: Store, wall: Wall) -> None:
    async with seated(own, wall) as app:
        press(app, "enter")
        await until(app, lambda: isinstance(app.screen, WriteWord) and app.screen.is_mounted)
        press(app, *"smoke", "enter", *"xx", "enter", "enter")
        await until(app, lambda: not isinstance(app.screen, WriteWord))
        await settled(app)
        assert "1 smoke" in text(app)
    assert named(own, "A1") == ["smoke"]


@pytest.mark.slow
async def test_a_whole_glass_without_hands(own: Store, wall: Wall) -> None:
    app = BoothApp(own, session="evening-12", clock=wall)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(app, lambda: app.records.are_open)
        await sign_in_by_keys(app, "A3", PINS["A3"])
        await name_by_keys(app, ["tar", "moss"])
        app.leave()
        await until(app, lambda: not isinstance(app.screen, SeatedScreen))
        await score_by_keys(pilot, "A3", PINS["A3"], "538", {"tar": 5, "moss": 60})
    assert own_scores(own, "A3", "538") == {"tar": 5, "moss": 60}


IS_KILLED = """
import asyncio, os, signal, sys
from panel.store.engine import connect, locate
from tests.houses.at_the_booth import Wall
from tests.booth.sitting import keys, press, seated, text
from tests.booth.by_keys import name_by_keys
from tests.booth.test_words import take

async def name_and_score():
    async with seated(connect(locate(sys.argv[1])), Wall()) as app:
        await name_by_keys(app, ["tar", "[/x]"])
        await take(app, "538")
        await keys(app, *"62", "enter")
        assert "kept 18:00:00" in text(app)
        press(app, "7")
        os.kill(os.getpid(), signal.SIGKILL)

asyncio.run(name_and_score())
"""


async def test_after_a_kill_words_and_scores_are_there(own: Store, wall: Wall) -> None:
    ended = subprocess.run(
        [sys.executable, "-c", IS_KILLED, str(own.url.database)],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ended.returncode == -signal.SIGKILL, ended.stderr
    assert named(own, "A1") == ["tar", "[/x]"]
    async with booth(own, wall) as app:
        await sign_in_by_keys(app, "A1", PINS["A1"])
        assert glass(app).glass.code == "538"
        assert values(app) == {"tar": 62, "[/x]": None}


PICTURES = Path(__file__).parent / "pictures"


@pytest.mark.parametrize("size", some([(80, 24), (120, 40)], 2), ids=["80x24", "120x40"])
async def test_the_words_are_as_drawn_in_both_looks(
    own: Store, wall: Wall, size: tuple[int, int]
) -> None:
    async with seated(own, wall, size=size) as app:
        for typed in ("wet slate", "tar", "the inside of an old leather glove box"):
            await word(app, typed)
        drawn, before = rows(app), [strip.text for strip in in_front(app)]
        poor = too_faint(app)
        await keys(app, "f2")
        assert [strip.text for strip in in_front(app)] == before
        poor += too_faint(app)
    assert poor == []
    compare(PICTURES / f"own_words_{size[0]}x{size[1]}.txt", "\n".join(drawn).rstrip() + "\n")


@pytest.mark.slow
async def test_a_glass_in_own_words_fits(own: Store, wall: Wall) -> None:
    eight = ("wet slate", "tar", "moss", "clove", "rind", "felt", "plum jam", "old book")
    async with named_by(own, wall, *eight) as app:
        await take(app, "538")
        shown = rows(app)
        assert all(any(name in row for row in shown) for name in eight)
        assert "own words" in " ".join(shown[-4:])
