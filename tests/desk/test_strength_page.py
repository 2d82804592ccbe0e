"""The strength page says what the commands say."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from panel.cli.main import group
from panel.desk.app import DeskApp
from panel.desk.strength_asked import QUESTIONS
from panel.desk.strength_page import StrengthPage
from tests.desk.driving import press, seen, settle
from tests.desk.test_forms import fault_beside

ASKED = [
    ("reduce", ("150", None, "57.8", "46"), "--litres 150 --from 57.8 --to 46"),
    ("marry", ("190", "57.1", "63", "59"), "--part 190@57.1 --part 63@59"),
    ("at-20", ("200", "60", "10"), "--litres 200 --abv 60 --temperature 10"),
    ("weigh", ("180", "60"), "--kg 180 --abv 60"),
    ("read", (None, "61.2", "12"), "--reading 61.2 --temperature 12"),
    (
        "loss",
        ("195", "63.5", "160", "58.2", "10"),
        "--start 195@63.5 --end 160@58.2 --years 10",
    ),
    ("ullage", ("200", "150"), "--size 200 --litres 150"),
    ("until", ("63.5", "58.2", "10", None), "--start-abv 63.5 --end-abv 58.2 --years 10"),
]


def answer(desk: DeskApp) -> str:
    return str(desk.screen.query_one("#answer").render())


@pytest.mark.slow
@pytest.mark.parametrize(("name", "typed", "options"), ASKED, ids=[name for name, *_ in ASKED])
async def test_the_page_says_what_the_command_says(
    desk: DeskApp, name: str, typed: tuple[str | None, ...], options: str
) -> None:
    told = CliRunner().invoke(group, ["strength", name, *options.split()])
    assert told.exit_code == 0
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(StrengthPage())
        await settle(pilot)
        await press(pilot, *["right"] * list(QUESTIONS).index(name))
        page = desk.screen
        assert isinstance(page, StrengthPage)
        for line, text in zip(page.lines[1:], typed, strict=False):
            if text is not None:
                line.entry.value = text
        await settle(pilot)
        assert answer(desk).strip()
        assert answer(desk) == told.stdout.rstrip("\n")
        assert "excise authority" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_what_is_missing_or_no_number_is_said(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        await desk.run_action("strength", desk.screen)
        await settle(pilot)
        await press(pilot, "down", *"much", "enter", "enter", *"57,8")
        assert fault_beside(desk, "spirit").startswith("!")
        assert not fault_beside(desk, "from").startswith("!")
        assert "wanted" in answer(desk)
        await press(pilot, "escape")
        assert not isinstance(desk.screen, StrengthPage)


async def test_spirit_is_not_made_stronger_by_water(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(StrengthPage())
        await settle(pilot)
        page = desk.screen
        assert isinstance(page, StrengthPage)
        for name, text in (("spirit", "1"), ("from", "40"), ("to", "60")):
            line = page.line_of(name)
            assert line is not None
            line.entry.value = text
        await settle(pilot)
        assert answer(desk).startswith("!")
