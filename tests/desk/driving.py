"""Driving the desk without hands: waiting for jobs, reading the screen."""

from __future__ import annotations

from typing import Any

from textual.app import App
from textual.pilot import Pilot


async def settle(pilot: Pilot[Any]) -> None:
    """Wait until no job runs and all messages are read."""
    for _ in range(3):
        await pilot.pause()
        await pilot.app.workers.wait_for_complete(
            [worker for worker in pilot.app.workers if worker.group != "warming"]
        )
    await pilot.pause()


async def press(pilot: Pilot[Any], *keys: str) -> None:
    """Press keys, and let each job end."""
    for key in keys:
        await pilot.press(key)
        await settle(pilot)


def seen(app: App[Any]) -> list[str]:
    """Return the screen as lines of text."""
    strips = app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip).rstrip() for strip in strips]
