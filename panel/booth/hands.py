"""A booth driven without hands: by the same keys, through the same screens.

For the demonstration and for rehearsals; the app runs under `App.run_test`. Keys are sent as a
terminal sends them, in bursts, and the booth works them off in their order.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, cast

from textual import events

from panel.booth.between import BetweenScreen
from panel.booth.glass import GlassScreen
from panel.booth.seated import SeatedScreen
from panel.booth.sign_in import SignInScreen
from panel.booth.window import SayLine
from panel.errors import BoothError

if TYPE_CHECKING:
    from panel.booth.app import BoothApp

LOOK_EVERY_S = 0.005
PATIENCE_S = 60.0


async def nose_by_keys(booth: BoothApp, glass_code: str, values: Mapping[str, int]) -> None:
    """At a booth signed in: take the glass, type a value a descriptor, put the glass down."""
    press(booth, *glass_code, "enter")
    glass = await _glass_screen(booth, glass_code)
    names = [scale.line.name for scale in glass.scales]
    for name in names:
        press(booth, *(str(values[name]) if name in values else ""), "down")
    press(booth, "p", *("" if set(names) <= set(values) else "y"))
    await until(booth, lambda: _is_ready(booth, BetweenScreen) and booth.keeper.idle)


async def sign_in_by_keys(booth: BoothApp, code: str, pin: str) -> None:
    """Type code and PIN and wait for the tray."""
    await until(booth, lambda: isinstance(booth.screen, SignInScreen) and booth.screen.is_mounted)
    press(booth, *code, "enter", *pin, "enter")
    await until(booth, lambda: _is_ready(booth, SeatedScreen))


async def _glass_screen(booth: BoothApp, glass_code: str) -> GlassScreen:
    await until(booth, lambda: _is_ready(booth, GlassScreen))
    glass = cast("GlassScreen", booth.screen)
    if glass.glass.code != glass_code:
        raise BoothError(f"The booth has {glass.glass.code} in hand, not {glass_code}.")
    return glass


def _is_ready(booth: BoothApp, *kinds: type[SeatedScreen]) -> bool:
    return isinstance(booth.screen, kinds) and booth.screen.ready


def press(booth: BoothApp, *keys: str) -> None:
    """Send keys as the terminal does."""
    for key in keys:
        booth.post_message(events.Key(key, key if len(key) == 1 else None))


async def until(booth: BoothApp, reached: Callable[[], bool]) -> None:
    """Let the booth work until something is so.

    Raises
    ------
    BoothError
        It does not come to be so; with what the booth says.
    """
    for _ in range(round(PATIENCE_S / LOOK_EVERY_S)):
        if reached():
            return
        await asyncio.sleep(LOOK_EVERY_S)
    raise BoothError(f"The booth stands at {type(booth.screen).__name__}: {said(booth)!r}")


def said(booth: BoothApp) -> str:
    """Return the message that stands on the screen."""
    return " ".join(line.said for line in booth.screen.query(SayLine))
