"""Driving the desk without hands: waiting for messages and jobs, reading the screen."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from textual import events
from textual.app import App
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widget import Widget
from textual.worker import Worker, WorkerError

from panel.desk.app import DeskApp

CALM_ROUNDS = 3
"""What a message leads to may be put off until the next picture, and that until the one after."""
PATIENCE_ROUNDS = 20_000


def signed_in(desk: DeskApp) -> DeskApp:
    """Return the desk as after a PIN at its door."""
    desk.signed_in = True
    return desk


async def settle(pilot: Pilot[Any]) -> None:
    """Wait until no job runs, all messages are read and the picture stands, however long it takes.

    The processor is not asked: how busy it is says nothing of this desk when others work beside it.
    """
    calm = 0
    for _ in range(PATIENCE_ROUNDS):
        await pilot.pause(0)
        jobs = running(pilot.app)
        await until_done(jobs)
        calm = 0 if jobs or not is_calm(pilot.app) else calm + 1
        if calm == CALM_ROUNDS:
            return
    raise AssertionError(f"{pilot.app.screen} does not come to rest: {seen(pilot.app)}")


async def until_so(desk: App[Any], reached: Callable[[], bool]) -> None:
    """Wait until something is so that nobody at the desk asked for."""
    for _ in range(PATIENCE_ROUNDS):
        if reached():
            return
        await asyncio.sleep(0.005)
    raise AssertionError(f"{desk.screen} does not come to that: {seen(desk)}")


async def until_done(jobs: list[Worker[Any]]) -> None:
    """Wait for jobs to end, well or badly: the page says which."""
    for job in jobs:
        with suppress(WorkerError):
            await job.wait()


def running(app: App[Any]) -> list[Worker[Any]]:
    """Return the jobs that are not done, but for the libraries that are loaded ahead."""
    return [job for job in app.workers if job.group != "warming" and not job.is_finished]


def is_calm(app: App[Any]) -> bool:
    """Tell whether all of the screen is mounted and drawn, and no message waits for it."""
    if not app.is_running:
        return True
    widgets = app.screen.walk_children(Widget, with_self=True)
    waits = any(not widget.is_mounted or widget.message_queue_size for widget in widgets)
    return not waits and not app.message_queue_size and is_drawn(app.screen)


def is_drawn(screen: Screen[Any]) -> bool:
    """Tell whether the screen shows what its widgets hold."""
    return not (screen._layout_required or screen._repaint_required or screen._dirty_widgets)


async def press(pilot: Pilot[Any], *keys: str) -> None:
    """Press keys, and let each job end."""
    for key in keys:
        pilot.app.post_message(key_event(key))
        await settle(pilot)


def key_event(key: str) -> events.Key:
    """Return what the terminal sends for a key, named as in bindings or as its one character."""
    if len(key) == 1:
        return events.Key(_character_to_key(key), key)
    return events.Key(key, " " if key == "space" else None)


def seen(app: App[Any]) -> list[str]:
    """Return the screen as lines of text."""
    strips = app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip).rstrip() for strip in strips]
