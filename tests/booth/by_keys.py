"""What a whole evening does at a booth, by keys: more than the demonstration needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, cast

from panel.booth.between import BetweenScreen
from panel.booth.glass import GlassScreen
from panel.booth.hands import nose_by_keys, press, sign_in_by_keys, until
from panel.booth.seated import SeatedScreen
from panel.booth.words import WordsScreen, WriteWord
from panel.store.word_text import plain_word

if TYPE_CHECKING:
    from textual.pilot import Pilot

    from panel.booth.app import BoothApp


async def score_by_keys(
    pilot: Pilot[None], code: str, pin: str, glass_code: str, values: Mapping[str, int]
) -> None:
    """Sign in, take the glass, type a value a descriptor, and put the glass down."""
    booth = cast("BoothApp", pilot.app)
    await sign_in_by_keys(booth, code, pin)
    await nose_by_keys(booth, glass_code, values)


async def name_by_keys(booth: BoothApp, words: Sequence[str]) -> None:
    """Name words of one's own, where the booth asks for them, and go on to the glasses."""
    await until(booth, lambda: _is_ready(booth, WordsScreen))
    for word in words:
        await _name(booth, word)
    press(booth, "g")
    await until(booth, lambda: _is_ready(booth, BetweenScreen, GlassScreen))


async def _name(booth: BoothApp, word: str) -> None:
    press(booth, "enter")
    await until(booth, lambda: isinstance(booth.screen, WriteWord) and booth.screen.is_mounted)
    press(booth, *word, "enter")
    await until(booth, lambda: _has(booth, plain_word(word)) and _is_ready(booth, WordsScreen))


def _has(booth: BoothApp, word: str) -> bool:
    return any(line.name == word for line in booth.tray_now.lines)


def _is_ready(booth: BoothApp, *kinds: type[SeatedScreen]) -> bool:
    return isinstance(booth.screen, kinds) and booth.screen.ready
