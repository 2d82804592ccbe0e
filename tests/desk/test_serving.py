"""The desk starts the server of booths, shows where it is and how to join, and stops it."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable
from urllib.request import urlopen

import pytest

from panel.desk.app import DeskApp
from panel.desk.serve_page import (
    ServeForm,
    ServePage,
    came_lines,
    code_cells,
    qr_cells,
)
from panel.desk.serving import Serving, Standing, start
from panel.desk.session_page import SessionPage
from panel.errors import BoothError
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.houses.held_at_the_desk import NAME, hold


async def until(reached: Callable[[], bool]) -> None:
    for _ in range(400):
        if reached():
            return
        await asyncio.sleep(0.05)
    raise AssertionError("it does not come to be so")


@pytest.mark.slow
async def test_it_is_started_shown_given_a_new_code_and_stopped(
    house: Store, desk: DeskApp
) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "o")
        form = desk.screen
        assert isinstance(form, ServeForm)
        form.line_of("port").entry.value = "0"  # type: ignore[union-attr]
        await press(pilot, "ctrl+s")
        await until(lambda: isinstance(desk.screen, ServePage))
        await settle(pilot)
        serving = desk.serving
        assert isinstance(serving, Serving)
        first = serving.standing
        shown = "\n".join(seen(desk))
        assert first.origin in shown
        assert code_cells(first.code).splitlines()[0].strip() in shown
        assert "Not at a browser" in shown
        with urlopen(first.origin) as page:
            assert first.code not in page.read().decode()
        await press(pilot, "n")
        await until(lambda: serving.standing.code != first.code)
        await press(pilot, "escape")
        assert isinstance(desk.screen, SessionPage)
        await press(pilot, "o")
        assert isinstance(desk.screen, ServePage)
        await press(pilot, "minus", "y")
        await until(lambda: not serving.runs)
        assert desk.serving is None
        assert "No server of booths runs" in "\n".join(seen(desk))


def test_what_speaks_against_it_is_said_in_the_words_of_the_command(house: Store) -> None:
    hold(house, "open")
    file = str(house.url.database)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        with pytest.raises(BoothError, match=r"cannot be listened at.*Name another --port"):
            start(NAME, file, ("--address", "127.0.0.1", "--port", port))


def test_whoever_is_out_of_line_is_told_apart_from_who_never_came() -> None:
    silent = {"A1": 2, "A2": 40}
    standing = Standing("http://127.0.0.1:8460", "ABCD-2345", True, 3, silent, ("192.168.4.9",))
    assert came_lines(standing, ("A1", "A2", "A3")) == [
        "Joined: 3. At a browser (1): A1",
        "! Out of line, nothing heard of: A2 for 40 s",
        "Not at a browser: A3",
        "! Held more lines than booths need, others of it were refused: 192.168.4.9. "
        "Look whose that is.",
    ]


def test_the_sign_is_square_dark_on_light_and_holds_the_address_alone() -> None:
    rows = qr_cells("http://192.168.10.5:8460").splitlines()
    assert len({len(row) for row in rows}) == 1
    assert len(rows[0]) <= 2 * len(rows)
    assert not rows[0].strip()
    assert qr_cells("http://192.168.10.5:8461") != "\n".join(rows)


def test_a_join_code_is_drawn_in_signs_that_differ() -> None:
    from panel.block_signs import DOTS

    signs = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
    assert len({DOTS[sign] for sign in signs}) == len(signs)
    assert len(code_cells("ABCD-2345").splitlines()) == 7
