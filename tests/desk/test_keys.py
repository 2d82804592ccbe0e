"""Rules for every screen: keys with ids and tooltips, one letter a column, all in the list."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

import pytest
from textual.app import App
from textual.binding import Binding
from textual.color import Color
from textual.screen import Screen
from textual.theme import Theme
from textual.widget import Widget

import panel.desk
from panel.desk import themes
from panel.desk.app import DeskApp
from panel.desk.casks import CasksPage
from panel.desk.commands import HOW, AllPage, doable
from panel.desk.form import FormPage
from panel.desk.key_slip import KeySlip
from panel.desk.keys import LETTERS
from panel.desk.sessions import SessionsPage
from panel.desk.slip import Confirm
from tests.desk.driving import press, seen, settle

MODULES = [
    import_module(f"panel.desk.{module.name}") for module in iter_modules(panel.desk.__path__)
]
WITH_KEYS = sorted(
    {
        kind
        for module in MODULES
        for kind in vars(module).values()
        if isinstance(kind, type)
        and issubclass(kind, App | Screen | Widget)
        and kind.__module__.startswith("panel.desk")
        and "BINDINGS" in vars(kind)
    },
    key=lambda kind: kind.__qualname__,
)
WITH_OFFERS = [kind for kind in WITH_KEYS if "OFFERS" in vars(kind)]
OF_THE_DESK = {"list.find", "desk.all", "desk.keys", "keys.back"}
TABLES = [
    (module.__name__, value)
    for module in MODULES
    for name, value in vars(module).items()
    if name.endswith("COLUMNS")
]
NOT_OURS = {"ctrl+m", "ctrl+j", "ctrl+h", "ctrl+i"}


@pytest.mark.parametrize("kind", WITH_KEYS, ids=lambda kind: kind.__qualname__)
def test_every_action_has_an_id_and_what_is_shown_has_a_tooltip(kind: type[Widget]) -> None:
    for binding in kind.BINDINGS:
        assert isinstance(binding, Binding)
        assert binding.id
        assert binding.description
        assert binding.tooltip or not binding.show
        assert not set(binding.key.split(",")) & NOT_OURS


@pytest.mark.parametrize("kind", WITH_KEYS, ids=lambda kind: kind.__qualname__)
def test_a_letter_means_one_thing_on_every_page(kind: type[Widget]) -> None:
    asks = issubclass(kind, Confirm)  # there y and n are yes and no
    for binding in kind.BINDINGS:
        assert isinstance(binding, Binding)
        for one in binding.key.split(","):
            if one in LETTERS and not asks and binding.id not in OF_THE_DESK:
                assert binding.description in LETTERS[one].words
            assert asks or one in LETTERS or len(one) > 1 or one.isupper() or one.isdigit()


def test_no_word_stands_at_two_letters() -> None:
    words = [word for meaning in LETTERS.values() for word in meaning.words]
    assert len(set(words)) == len(words)


def test_an_offer_has_a_name_of_its_own_and_can_be_done() -> None:
    offers = [(kind, offer) for kind in WITH_OFFERS for offer in vars(kind)["OFFERS"]]
    names = [offer.name for _, offer in offers]
    assert len(set(names)) == len(names)
    for kind, offer in offers:
        assert hasattr(kind, f"action_{offer.action.partition('(')[0]}")


async def test_the_keys_of_a_page_are_told(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "f1")
        text = "\n".join(seen(desk))
        assert "Regauge: write down a regauge" in text
        await press(pilot, "question_mark", "4", "question_mark")
        assert isinstance(desk.screen, KeySlip)
        await press(pilot, "escape")
        assert desk.current_mode == "lexicon"


async def test_what_finishes_and_the_way_back_are_always_shown(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for keys in (("2",), ("enter",), ("g",), ("escape", "4", "n"), ("escape", "1", "n")):
            await press(pilot, *keys)
            assert "esc" in seen(desk)[-1]
            if isinstance(desk.screen, FormPage):
                assert "ctrl+s keep" in seen(desk)[-1]


@pytest.mark.parametrize(("module", "columns"), TABLES, ids=lambda each: str(each)[:40])
def test_every_column_has_a_letter_of_its_own(module: str, columns: tuple[object, ...]) -> None:
    letters = [getattr(column, "letter", "") for column in columns]
    assert all(letters)
    assert len(set(letters)) == len(letters)


async def test_the_command_list_offers_what_the_keys_do(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        offered = [each.tells for each in doable(desk.screen)]
        assert "Plan a session" in offered
        assert "The casks of the house" in offered
        await press(pilot, "full_stop")
        assert isinstance(desk.screen, AllPage)
        await press(pilot, "full_stop")  # the list is not laid over itself
        assert isinstance(desk.screen, AllPage)
        assert len(desk.screen_stack) == 2
        await press(pilot, *"go to lex", "enter")
        await press(pilot, "enter")
        assert desk.current_mode == "lexicon"


@pytest.mark.parametrize("words", ["re", "a", "go to", "le", "write"])
async def test_enter_does_what_the_arrow_of_the_command_list_stands_on(
    desk: DeskApp, words: str
) -> None:
    """Also where a line that begins with the words stands below others that have them."""
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "f3", *words)
        page = desk.screen
        assert isinstance(page, AllPage)
        under = page.made.current
        assert under is not None
        (shown,) = [line for line in seen(desk) if "▸" in line]
        assert shown.split("▸")[1].split("·")[1].strip().startswith(under.words[:20])
        chosen: list[object] = []
        page.dismiss = chosen.append  # type: ignore[method-assign, assignment]
        await press(pilot, "enter")
        assert chosen == [(under.name,)]


async def test_the_command_list_does_not_offer_itself(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "show_all" not in [each.action for each in doable(desk.screen)]
        assert "keys" in [each.action for each in doable(desk.screen)]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_command_list_is_a_page_of_the_house(
    desk: DeskApp, size: tuple[int, int]
) -> None:
    async with desk.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, "2", "f3")
        lines = seen(desk)
        assert "▌2 Casks▐" in lines[0]
        assert lines[1].startswith("━━ All that can be done here ━")
        assert lines[2].split() == ["What", "Key", "Does"]
        assert any(line.split("Write")[0].split() == ["·", "Regauge", "g"] for line in lines)
        assert lines[-2].strip() == HOW
        assert lines[-1].lstrip().startswith("enter take")
        await press(pilot, *"write", "down", "down", "enter")  # the arrow is taken, not the first
        assert desk.screen is not desk.screen_stack[0]
        assert not isinstance(desk.screen, AllPage)
        await press(pilot, "escape", "escape", "f3", "escape")
        assert isinstance(desk.screen, CasksPage)


async def test_each_place_keeps_its_page_and_escape_leads_up(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "4", "2")
        assert len(desk.screen_stack) == 2
        await press(pilot, "escape", "escape")
        assert "This is the top" in "\n".join(seen(desk))


async def test_places_and_keys_can_be_clicked(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.click("TopLine", offset=(16, 0))
        await settle(pilot)
        assert desk.current_mode == "casks"
        await press(pilot, "1")
        line = seen(desk)[-1]
        await pilot.click("KeyLine", offset=(line.index("n new") + 2, 0))
        await settle(pilot)
        assert not isinstance(desk.screen, SessionsPage)


async def test_the_theme_turns_between_light_and_dark(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        before = seen(desk)
        await press(pilot, "f2")
        assert desk.theme == themes.DAY.name
        assert seen(desk) == before


@pytest.mark.parametrize("theme", [themes.NIGHT, themes.DAY], ids=lambda theme: theme.name)
def test_text_can_be_read_on_its_ground(theme: Theme) -> None:
    """Contrast of 4.5 to 1 for text (WCAG 2.1, success criterion 1.4.3)."""
    for ground in (theme.background, theme.surface, theme.panel):
        for ink in (theme.foreground, theme.primary, theme.secondary, theme.accent, theme.error):
            assert ink is not None
            assert ground is not None
            assert contrast(Color.parse(ink), Color.parse(ground)) >= 4.5, (ink, ground)


def contrast(ink: Color, ground: Color) -> float:
    """Contrast ratio by WCAG 2.1: (L1 + 0.05) / (L2 + 0.05) over relative luminances."""
    bright, dark = sorted((luminance(ink), luminance(ground)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def luminance(colour: Color) -> float:
    parts = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in colour.normalized
    ]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]
