"""Keys: every action has a name, an explanation and a place in the list of all."""

from __future__ import annotations

from collections import Counter
from itertools import chain
from pathlib import Path

import pytest
from textual.binding import Binding, BindingType
from textual.pilot import Pilot

from panel.booth import actions, dialogs, helping, keys, plain, sign_in, taken
from panel.booth.actions import Actions
from panel.booth.helping import Help
from panel.store.engine import Store
from tests.booth.sitting import keys as press_keys
from tests.booth.sitting import (
    rows,
    said,
    seated,
    until,
    with_glass,
)
from tests.houses.at_the_booth import Wall

MIXED_UP_BY_TERMINALS = {"ctrl+m", "ctrl+j", "ctrl+h", "ctrl+i"}
GLASS = [*keys.LINE_KEYS, *keys.GLASS_KEYS, *keys.SEAT_KEYS, *plain.PlainApp.BINDINGS]
BETWEEN = [*keys.BETWEEN_KEYS, *keys.SEAT_KEYS, *plain.PlainApp.BINDINGS]
OTHERS = [
    *dialogs.Ask.BINDINGS,
    *dialogs.Choose.BINDINGS,
    *dialogs.WriteNote.BINDINGS,
    *actions.Actions.BINDINGS,
    *helping.Help.BINDINGS,
    *sign_in.SignInScreen.BINDINGS,
    *taken.TakenScreen.BINDINGS,
    *taken.ChangedScreen.BINDINGS,
]


def bindings(of: list[BindingType]) -> list[Binding]:
    return list(Binding.make_bindings(of))


@pytest.mark.parametrize("one", bindings([*GLASS, *BETWEEN, *OTHERS]), ids=lambda b: b.key)
def test_every_key_has_a_name_and_an_explanation(one: Binding) -> None:
    assert one.id
    assert one.tooltip
    assert one.description
    assert one.key not in MIXED_UP_BY_TERMINALS


@pytest.mark.parametrize("screen", [GLASS, BETWEEN], ids=["glass", "between"])
def test_no_key_does_two_things(screen: list[BindingType]) -> None:
    counted = Counter(one.key for one in bindings(screen))
    assert [key for key, times in counted.items() if times > 1] == []


def test_the_left_hand_alone_reaches_every_step_of_a_line() -> None:
    left = set("qwertasdfgzxcvbQWERTASDFGZXCVB12345") | {"tab", "space", "shift+tab"}
    for name in ("up", "down", "more", "less", "more_by_five", "less_by_five", "onward", "blank"):
        reached = {one.key for one in bindings(keys.LINE_KEYS) if one.id == f"line.{name}"}
        assert reached & left, name


async def test_the_list_of_all_offers_every_action_of_the_screen(
    evening: Store, wall: Wall
) -> None:
    async with with_glass(evening, wall) as app:
        await press_keys(app, "f3")
        assert isinstance(app.screen, Actions)
        words = [each.words for each in app.screen.found.shown]
        wanted = {b.description for b in bindings(GLASS) if "digit(" not in b.action}
        wanted -= {"Undo that"}  # offered only where there is something to undo
        assert set(words) == wanted
        assert len(words) == len(set(words))
        await press_keys(app, "f3", *"fault", "enter")
        await until(app, lambda: isinstance(app.screen, dialogs.Choose))


async def test_the_list_of_all_changes_nothing_where_it_is_left(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        behind, before = app.screen, rows(app)
        await press_keys(app, "ctrl+p", *"no such thing", "enter", "5")
        assert isinstance(app.screen, Actions)
        assert app.screen.found.shown == ()
        await press_keys(app, "escape")
        assert app.screen is behind
        assert rows(app) == before


async def test_what_is_called_so_stands_before_what_only_tells_of_it(
    evening: Store, wall: Wall
) -> None:
    """The blank line was found second: Enter would have scored a point."""
    async with with_glass(evening, wall) as app:
        await press_keys(app, "f3", *"blan")
        assert isinstance(app.screen, Actions)
        words = [each.words for each in app.screen.found.shown]
        assert words[0] == "Blank"
        assert "By one" in words


async def test_a_touch_below_the_rows_takes_none_of_them(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await press_keys(app, "f3")
        assert isinstance(app.screen, Actions)
        listed = app.screen.found
        assert len(listed.shown) > listed.rows
        pilot: Pilot[None] = Pilot(app)
        for below in (listed.rows, listed.rows + 1):
            await pilot.click(listed, offset=(3, below))
        assert isinstance(app.screen, Actions)
        await pilot.click(listed, offset=(3, 1))
        await until(app, lambda: not isinstance(app.screen, Actions))


async def test_the_list_of_all_fits_and_follows_its_pointer(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await press_keys(app, "f3", *["down"] * 40)
        assert isinstance(app.screen, Actions)
        last = app.screen.found.shown[-1]
        await until(app, lambda: any(f"▸ {last.words}" in row for row in rows(app)))
        assert any(row.strip("│ ") == last.tells for row in rows(app)), "it is told in full"
        assert any("Letters find; Enter does it; Esc closes" in row for row in rows(app))


async def test_help_comes_from_the_keys_of_the_screen_behind_it(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await press_keys(app, "f1")
        assert isinstance(app.screen, Help)
        told = dict(app.screen.keys)
        assert told["p"] == "Put the glass down: it is finished and the pause begins"
        assert told["0-9"] == "Type the value"
        assert told["x Del"].endswith("not scored, which is not zero")
        await press_keys(app, "escape")
        assert not isinstance(app.screen, Help)


async def test_the_strip_at_the_bottom_fits(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        strip = [row for row in rows(app)[-3:] if row]
        assert len(strip) == 3
        assert all(len(row) <= 80 for row in strip)
        assert "p put down" in " ".join(strip)


@pytest.mark.slow
async def test_keys_before_a_screen_is_laid_out_go_nowhere(evening: Store, wall: Wall) -> None:
    async with seated(evening, wall) as app:
        app.go_where_the_tray_says()
        await press_keys(app, "w")
        await until(app, lambda: getattr(app.screen, "ready", False))
        await press_keys(app, "w")
        assert said(app).startswith("Next on your tray")


def test_no_module_of_the_booth_uses_markup_or_a_key_that_terminals_mix_up() -> None:
    folder = Path(plain.__file__).parent
    sources = [path.read_text(encoding="utf-8") for path in folder.glob("*.py")]
    calls = chain.from_iterable(source.split("Static(")[1:] for source in sources)
    told = [call for call in calls if "markup=False" not in call[:120]]
    assert [call[:60] for call in told if not call.startswith(("\n", ")"))] == []
