"""What the screens show: as text at both sizes, with enough contrast in both looks.

The stored pictures are plain text. After a wanted change write them anew with
`OAKPANEL_DRAW=1 pytest -m "slow or not slow" tests/booth/test_looks.py`, and read the difference
before committing.
"""

from __future__ import annotations

import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from rich.color import Color
from rich.segment import Segment
from textual.strip import Strip

from panel.booth.app import BoothApp
from panel.booth.themes import DAYLIGHT, LAMPLIGHT
from panel.store.engine import Store
from tests.booth.sitting import booth, keys, rows, seated, strips, with_glass
from tests.houses.at_the_booth import Wall
from tests.thinned import some

PICTURES = Path(__file__).parent / "pictures"
SIZES = ((80, 24), (120, 40))


@asynccontextmanager
async def signing_in(store: Store, wall: Wall, size: tuple[int, int]) -> AsyncIterator[BoothApp]:
    async with booth(store, wall, size) as app:
        yield app


@asynccontextmanager
async def a_code(store: Store, wall: Wall, size: tuple[int, int]) -> AsyncIterator[BoothApp]:
    async with seated(store, wall, size=size) as app:
        await keys(app, *"417")
        yield app


@asynccontextmanager
async def a_glass(store: Store, wall: Wall, size: tuple[int, int]) -> AsyncIterator[BoothApp]:
    async with with_glass(store, wall, size=size) as app:
        await keys(app, *"62", "down", *"10", "down", "left", "down", "down")
        yield app


@asynccontextmanager
async def the_faults(store: Store, wall: Wall, size: tuple[int, int]) -> AsyncIterator[BoothApp]:
    async with with_glass(store, wall, size=size) as app:
        await keys(app, "m", "2")
        yield app


@asynccontextmanager
async def the_help(store: Store, wall: Wall, size: tuple[int, int]) -> AsyncIterator[BoothApp]:
    async with with_glass(store, wall, size=size) as app:
        await keys(app, "question_mark")
        yield app


SCREENS = {
    "signing_in": signing_in,
    "a_code": a_code,
    "a_glass": a_glass,
    "the_faults": the_faults,
    "the_help": the_help,
}


@pytest.mark.parametrize("size", SIZES, ids=["80x24", "120x40"])
@pytest.mark.parametrize("name", some(SCREENS, 2))
async def test_the_screen_is_as_drawn_in_both_looks(
    evening: Store, wall: Wall, name: str, size: tuple[int, int]
) -> None:
    async with SCREENS[name](evening, wall, size) as app:
        lamplight, before = rows(app), [strip.text for strip in in_front(app)]
        poor = too_faint(app)
        await keys(app, "f2")
        assert app.theme == DAYLIGHT.name
        assert [strip.text for strip in in_front(app)] == before
        poor += too_faint(app)
    assert poor == []
    assert all(len(row) <= size[0] for row in lamplight)
    compare(PICTURES / f"{name}_{size[0]}x{size[1]}.txt", "\n".join(lamplight).rstrip() + "\n")


def compare(picture: Path, drawn: str) -> None:
    if os.environ.get("OAKPANEL_DRAW"):
        picture.parent.mkdir(exist_ok=True)
        picture.write_text(drawn, encoding="utf-8")
    assert picture.read_text(encoding="utf-8") == drawn


def in_front(app: BoothApp) -> list[Strip]:
    """Return what is there to be read: the whole screen, or a question in front of it."""
    area = app.screen.children[0].region if app.screen.is_modal else app.size.region
    return [strip.crop(area.x, area.right) for strip in strips(app)[area.y : area.bottom]]


def too_faint(app: BoothApp) -> list[str]:
    """Return texts whose contrast is under 4.5 : 1 (WCAG 2.1, success criterion 1.4.3)."""
    found = []
    for strip in in_front(app):
        for segment in strip:
            ratio = contrast_of(segment)
            if ratio is not None and ratio < 4.5:
                found.append(f"{segment.text!r} {ratio:.1f} in {app.theme}")
    return found


def contrast_of(segment: Segment) -> float | None:
    style = segment.style
    is_text = any(sign.isalnum() for sign in segment.text)
    if not is_text or style is None or style.color is None or style.bgcolor is None:
        return None
    light, dark = sorted((luminance(style.color), luminance(style.bgcolor)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(color: Color) -> float:
    """Return the relative luminance (WCAG 2.1, definition of relative luminance)."""
    shares = (value / 255 for value in color.get_truecolor())
    red, green, blue = (
        share / 12.92 if share <= 0.03928 else ((share + 0.055) / 1.055) ** 2.4 for share in shares
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_the_contrast_of_black_on_white_is_21() -> None:
    # The greatest ratio there is, by the definition in WCAG 2.1.
    from rich.style import Style

    plain = Segment("x", Style(color="#000000", bgcolor="#ffffff"))
    assert contrast_of(plain) == pytest.approx(21)
    assert LAMPLIGHT.dark


async def test_without_colours_the_line_in_hand_and_what_is_kept_still_show(
    evening: Store, wall: Wall, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with a_glass(evening, wall, (80, 24)) as app:
        assert app.no_color
        assert [row[:13] for row in rows(app) if "▸" in row] == [" ▸ bonfire    "[:13]]
        assert sum("kept 18:00:00" in row for row in rows(app)) == 3
        assert sum("◆" in row for row in rows(app)) == 3
