"""Pictures of screens as text files; `OAKPANEL_PICTURES=write` draws them anew."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from panel.desk import themes
from tests.desk.driving import seen, settle

PICTURES = Path(__file__).with_name("pictures")
HASH = re.compile(r"[0-9a-f]{64}")


SMALL, LARGE = (80, 24), (120, 40)


async def check_pictures(pilot: Pilot[Any], name: str) -> None:
    """Hold a screen against its kept pictures: small in both themes, then drawn large in both."""
    for size in (SMALL, LARGE):
        await pilot.resize_terminal(*size)
        await settle(pilot)
        await check_picture_in_both_themes(pilot, name, size)
        await pilot.app.run_action("turn_theme")
        await settle(pilot)


async def check_picture_in_both_themes(pilot: Pilot[Any], name: str, size: tuple[int, int]) -> None:
    """Hold the screen against its kept picture in the dark theme, and in the light one."""
    assert pilot.app.theme == themes.NIGHT.name
    check_picture(name, size, seen(pilot.app))
    await pilot.app.run_action("turn_theme")  # a question in front does not let the key through
    await settle(pilot)
    assert pilot.app.theme == themes.DAY.name
    check_picture(name, size, seen(pilot.app))


def check_picture(name: str, size: tuple[int, int], lines: Sequence[str]) -> None:
    """Hold a screen against its kept picture; hashes differ from run to run and are masked."""
    drawn = [HASH.sub("#" * 64, line) for line in lines]
    assert len(drawn) == size[1]
    assert max(map(len, drawn)) <= size[0]
    kept = PICTURES / f"{name}-{size[0]}x{size[1]}.txt"
    if os.environ.get("OAKPANEL_PICTURES") == "write":
        kept.parent.mkdir(exist_ok=True)
        kept.write_text("\n".join(drawn) + "\n", encoding="utf-8")
    assert drawn == kept.read_text(encoding="utf-8").splitlines()
