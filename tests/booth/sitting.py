"""A booth under test: opened, driven by keys, read as text."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from typing import Any

from sqlalchemy import event, update
from textual.strip import Strip

from panel.booth.app import BoothApp
from panel.booth.between import BetweenScreen
from panel.booth.glass import GlassScreen
from panel.booth.hands import press, said, sign_in_by_keys, until
from panel.clock import Clock
from panel.kinds import SessionStatus
from panel.store.engine import Store
from panel.store.sessions import PanelSession
from tests.houses.at_the_booth import NAME, PINS


@asynccontextmanager
async def booth(
    store: Store | Callable[[], Store], clock: Clock, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[BoothApp]:
    """Open a booth; its records are open when it is given."""
    app = BoothApp(store, session=NAME, clock=clock)
    async with app.run_test(size=size):
        await until(app, lambda: app.records.are_open)
        yield app


@asynccontextmanager
async def seated(
    store: Store, clock: Clock, who: str = "A1", size: tuple[int, int] = (80, 24)
) -> AsyncIterator[BoothApp]:
    """Open a booth and sign somebody in."""
    async with booth(store, clock, size) as app:
        await sign_in_by_keys(app, who, PINS[who])
        yield app


@asynccontextmanager
async def with_glass(
    store: Store, clock: Clock, code: str = "538", size: tuple[int, int] = (80, 24)
) -> AsyncIterator[BoothApp]:
    """Open a booth with a glass in hand."""
    async with seated(store, clock, size=size) as app:
        await keys(app, *code, "enter")
        await until(app, lambda: isinstance(app.screen, GlassScreen) and app.screen.ready)
        yield app


async def keys(app: BoothApp, *names: str) -> None:
    """Press keys one after the other, and wait until all that follows is done."""
    press(app, *names)
    await settled(app)


async def settled(app: BoothApp) -> None:
    """Wait until nothing is queued: no key, no job; or a job failed and the booth waits."""
    await drained(app)
    app.start_keeping()
    await until(app, lambda: app.keeper.idle or app.keeper.trouble is not None)
    await drained(app)
    await until(app, lambda: all(worker.is_finished for worker in app.workers))
    await drained(app)


async def drained(app: BoothApp) -> None:
    """Wait until app and screen have worked off their messages."""
    reached: list[bool] = []
    for _ in range(2):
        reached.clear()
        app.call_later(lambda: app.screen.call_later(reached.append, True))
        await until(app, lambda: bool(reached))


async def to_between(app: BoothApp) -> None:
    await until(app, lambda: isinstance(app.screen, BetweenScreen) and app.screen.ready)


def glass(app: BoothApp) -> GlassScreen:
    """Return the screen of the glass in hand."""
    found = [screen for screen in app.screen_stack if isinstance(screen, GlassScreen)]
    assert found, f"no glass in hand: {rows(app)}"
    return found[0]


def values(app: BoothApp) -> dict[str, int | None]:
    """Return what stands on the lines."""
    return {scale.line.name: scale.value for scale in glass(app).scales}


def strips(app: BoothApp) -> list[Strip]:
    """Return the screen as it would be drawn."""
    app.screen._compositor.reflow(app.screen, app.size)
    return app.screen._compositor.render_strips()


def rows(app: BoothApp) -> list[str]:
    """Return the screen as text."""
    return [strip.text.rstrip() for strip in strips(app)]


def text(app: BoothApp) -> str:
    return "\n".join(rows(app))


def set_stage(store: Store, stage: SessionStatus) -> None:
    with store.write() as db:
        db.execute(update(PanelSession).values(status=stage))


@contextmanager
def pragma(store: Store, during: str, after: str) -> Iterator[None]:
    """Set a pragma on every connection that is taken up meanwhile."""

    def put(wish: str) -> Callable[..., None]:
        def on_checkout(dbapi_connection: Any, *_others: object) -> None:
            dbapi_connection.cursor().execute(f"PRAGMA {wish}")

        return on_checkout

    listener, restorer = put(during), put(after)
    event.listen(store.engine, "checkout", listener)
    yield
    event.remove(store.engine, "checkout", listener)
    event.listen(store.engine, "checkout", restorer)


__all__ = ["BoothApp", "press", "said", "sign_in_by_keys", "until"]
