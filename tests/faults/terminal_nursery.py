"""Terminal booths to be killed: everything is loaded once, and each is a fork of that.

    python -m tests.faults.terminal_nursery DATABASE SESSION

Each line read is a seed and a named pipe. In the fork a booth runs without a terminal; a hand signs
in and types by the booth's own keys, and what the screen shows of each line is written to the pipe:

    seated {"honey": 7, ...}    what stands on the glass in hand as kept
    typed honey 8               keys are about to be pressed
    kept honey 8                the line shows it as kept
"""

from __future__ import annotations

import asyncio
import json
import os
import sys
from collections.abc import Callable
from random import Random

from sqlalchemy.orm import configure_mappers

from panel.booth.app import BoothApp
from panel.booth.glass import GlassScreen
from panel.booth.hands import press, sign_in_by_keys, until
from panel.booth.line_scale import Keeping, LineScale
from panel.clock import utc_now
from panel.store import booth_queries
from panel.store.opening import open_store
from tests.houses.at_the_booth import CODES, PINS

PRELOADED = (booth_queries,)
DIGITS = range(10)
"""One key each, so that no change comes to lie between two keys."""


async def sit(database: str, session: str, chance: Random, tell: Callable[[str], None]) -> None:
    """Sit until the end, which is not in our hands."""
    app = BoothApp(lambda: open_store(database), session=session, clock=utc_now)
    async with app.run_test(size=(80, 24)):
        await until(app, lambda: app.records.are_open)
        await sign_in_by_keys(app, "A1", PINS["A1"])
        if not isinstance(app.screen, GlassScreen):
            press(app, *CODES[0], "enter")
        await until(app, lambda: isinstance(app.screen, GlassScreen) and app.screen.ready)
        glass = app.screen
        if not isinstance(glass, GlassScreen):
            raise TypeError(glass)
        kept = [scale for scale in glass.scales if scale.keeping is Keeping.KEPT]
        tell(f"seated {json.dumps({scale.line.name: scale.value for scale in kept})}")
        while True:
            await score(app, glass, chance, tell)


async def score(
    app: BoothApp, glass: GlassScreen, chance: Random, tell: Callable[[str], None]
) -> None:
    """Go to some line, type another value, leave the line, and see it stand as kept."""
    row = chance.randrange(len(glass.scales) - 1)
    scale: LineScale = glass.scales[row]
    value = chance.choice([value for value in DIGITS if value != scale.value])
    steps = row - glass.at
    press(app, *["down" if steps > 0 else "up"] * abs(steps))
    await until(app, lambda: glass.at == row)
    tell(f"typed {scale.line.name} {value}")
    press(app, str(value), "down")
    await until(app, lambda: (scale.value, scale.keeping) == (value, Keeping.KEPT))
    tell(f"kept {scale.line.name} {value}")


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main(database: str, session: str) -> None:
    """Start a booth a line."""
    configure_mappers()
    for line in sys.stdin:
        seed, pipe = line.split()
        child = os.fork()
        if child == 0:
            try:
                mouth = os.open(pipe, os.O_WRONLY)
                os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())

                def tell(words: str, mouth: int = mouth) -> None:
                    os.write(mouth, f"{words}\n".encode())

                asyncio.run(sit(database, session, Random(int(seed)), tell))
            finally:
                os._exit(0)
        say(f"started {child}")
        os.waitpid(child, 0)
        say("dead")


if __name__ == "__main__":
    main(*sys.argv[1:])
