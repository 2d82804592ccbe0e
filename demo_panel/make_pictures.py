"""Draw the README's pictures from the running program: `python -m demo_panel.make_pictures`.

A demo is built in a temporary folder, an evening is begun on it, and booth and desk are driven by
keys to the screens that are shown. The web font that the framework names is taken out, so that a
page with the pictures asks nothing of the internet.
"""

from __future__ import annotations

import asyncio
import re
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from panel.booth.app import BoothApp
from panel.booth.hands import nose_by_keys, press, sign_in_by_keys, until
from panel.cli.demo import Steps
from panel.cli.demo_build import build
from panel.cli.demo_evening import (
    LEAD,
    PIN,
    Script,
    nose_the_rest,
    own_streams,
    read_script,
    words_by_code,
)
from panel.cli.demo_folder import prepare, source_file
from panel.desk.app import DeskApp
from panel.session.plan import SessionPlan, plan_session
from panel.session.scoring import planned_next
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store.booth_queries import take_seat
from panel.store.engine import Store

PICTURES = Path(__file__).parent / "pictures"
NOW = datetime(2026, 11, 25, 18, 4, tzinfo=UTC)
EVENING = "night-31"
SIZE = (92, 28)
GLASSES_DONE = {
    "Alder": 5,
    "Aspen": 7,
    "Hazel": 3,
    "Linnet": 8,
    "Plover": 4,
    "Sorrel": 6,
    "Wren": 2,
}


def main() -> None:
    """Make both pictures anew."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        store = build(prepare(Path(place) / "sallow-weir"), NOW, Steps())
        script = read_script(source_file("next_session"))
        begin(store, script)
        with own_streams():
            asyncio.run(draw_booth(store, script))
            asyncio.run(draw_desk(store))
        store.close()


def begin(store: Store, script: Script) -> None:
    """Hold the first half of an evening."""
    plan = SessionPlan(
        name=EVENING,
        assessors=script.assessors,
        draws=script.draws,
        descriptors=script.descriptors,
        reference=script.reference,
        duplicates=(script.duplicate,),
        pause_s=0,
        seed=31,
    )
    start = NOW - timedelta(hours=1)
    for step in (
        lambda db: plan_session(db, plan, now=start, by=LEAD),
        lambda db: seal_session(db, EVENING, now=start, by=LEAD),
        lambda db: open_session(db, EVENING, now=start, by=LEAD),
    ):
        with store.write() as db:
            step(db)
    said = words_by_code(store, script)
    for who, done in GLASSES_DONE.items():
        with store.write() as db:
            seat = take_seat(db, EVENING, who, now=start)
        nose_the_rest(store, [seat], said, start + timedelta(minutes=5), most=done)


async def draw_booth(store: Store, script: Script) -> None:
    """Rowan has the first glass in hand and stands on the fifth line."""
    booth = BoothApp(store, session=EVENING, clock=lambda: NOW)
    async with booth.run_test(size=SIZE) as pilot:
        await sign_in_by_keys(booth, "Rowan", PIN)
        said = words_by_code(store, script)["Rowan"]
        for _ in range(2):
            glass = planned_next(booth.tray_now)
            if glass is not None:
                await nose_by_keys(booth, glass.code, said[glass.code])
        glass = planned_next(booth.tray_now)
        if glass is not None:
            press(booth, *glass.code, "enter")
            await pilot.pause(0.5)
            for name in script.descriptors[:4]:
                press(booth, *str(said[glass.code][name]), "enter")
        await until(booth, lambda: booth.keeper.idle)
        await pilot.pause(0.5)
        keep(booth, "booth")


async def draw_desk(store: Store) -> None:
    """The lead looks at the evening filling in."""
    desk = DeskApp(store, clock=lambda: NOW)
    async with desk.run_test(size=SIZE) as pilot:
        await settle(pilot, lambda: desk.screen.focused is not None)
        await pilot.press(*PIN, "enter")
        await pilot.pause(1.5)
        await pilot.press("enter")
        await pilot.pause(3.0)
        keep(desk, "desk")


async def settle(pilot: Any, ready: Callable[[], bool]) -> None:
    """Let the app work until it is so far."""
    for _ in range(200):
        if ready():
            break
        await pilot.pause(0.05)


def keep(app: Any, name: str) -> None:
    """Write the screen as it stands, without a font from elsewhere."""
    drawn = re.sub(r"\s*@font-face\s*\{[^}]*\}", "", app.export_screenshot())
    drawn = drawn.replace("Fira Code", "DejaVu Sans Mono")
    # The framework numbers its classes by chance; fixed ones keep the file the same.
    drawn = re.sub(r"terminal-\d+", "terminal-oakpanel", drawn)
    (PICTURES / f"{name}.svg").write_text(drawn, encoding="utf-8")


if __name__ == "__main__":
    main()
