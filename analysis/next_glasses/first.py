"""The first session of a house: a few casks, spread evenly, each nosed by several people."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..array_types import Codes
from ..errors import FrameError
from ..on_stock.barred import barred_fillings
from ..profile.latest import in_cask
from ..target import LeftOut
from .result import CaskToPour, Glass, Halt, NextSession, Question, Reason, Stop, Unit, Why
from .room import FIRST_POOL, Room
from .settings import NextSettings

_KIND = ("make", "wood", "fill_number", "age_years", "phenol_ppm", "cask")
"""What casks are put in order by before every so-manieth is taken."""


def first_session(
    casks: pd.DataFrame,
    room: Room,
    *,
    question: Question = Question.BEST,
    about: str = "",
    settings: NextSettings = NextSettings(),  # noqa: B008  (frozen)
) -> NextSession:
    """Choose the first session, before anything is known.

    Casks are put in order by make, wood, fill, age and peat, and eight taken at even distances
    (fewer where the room has fewer); everybody noses as many of them as there are seats, and
    each cask is nosed about equally often.

    Parameters
    ----------
    casks
        A casks frame.

    Examples
    --------
    >>> casks = pd.DataFrame({"cask": [f"c{n:02}" for n in range(40)], "wood": "barrel"})
    >>> casks["filling"] = casks["cask"]
    >>> found = first_session(casks, Room({"A": 4, "B": 4}))
    >>> len(found.glasses), len(found.casks), found.stop.halt.value
    (8, 8, 'too early to stop')
    """
    missing = [name for name in ("cask", "filling") if name not in casks.columns]
    if missing:
        raise FrameError("casks", [f"Missing columns: {', '.join(missing)}. Add them."])
    lying = in_cask(casks).drop_duplicates("cask", keep="last")
    barred = barred_fillings(lying)
    free = lying[~lying["filling"].astype("str").isin(list(barred))]
    names = _in_order(free, room)
    chosen = _spread(names, room)
    glasses = _dealt(chosen, room)
    return NextSession(
        question=question,
        about=about,
        unit=Unit.YEARS if question is Question.READY else Unit.POINTS,
        glasses=glasses,
        casks=tuple(_pour(name, glasses, room) for name in chosen if _of(name, glasses)),
        chosen=(),
        expected_loss=None,
        expected_loss_after=None,
        bottles=None,
        bottles_after=None,
        stop=Stop(Halt.TOO_EARLY, settings.stop_at, 0, settings.fewest_sessions),
        changes=(),
        left_out=tuple(LeftOut(cask, "", why) for cask, why in barred.values()),
        n_casks=len(free),
        n_glasses_nosed=0,
        seed=0,
    )


def _in_order(casks: pd.DataFrame, room: Room) -> list[str]:
    by = [name for name in _KIND if name in casks.columns]
    named = casks["cask"].astype("str")
    kept = casks[~named.isin(list(room.without))].sort_values(by, kind="stable")
    return [name for name in kept["cask"].astype("str").tolist() if room.glasses_of(name) > 0]


def _spread(names: list[str], room: Room) -> list[str]:
    """Those asked for, then every so-manieth of the others; one class of peat after another."""
    asked = [name for name in room.named if name in names]
    others = [name for name in names if name not in asked]
    if room.most_classes is not None:
        kinds = sorted({room.peat.get(name, 0) for name in others})[: room.most_classes]
        others = [name for name in others if room.peat.get(name, 0) in kinds]
    count = min(FIRST_POOL, room.pool) - len(asked)
    return asked + [others[place] for place in _evenly(len(others), count)]


def _evenly(n: int, count: int) -> Codes:
    """Places at even distances, the middle of each stretch."""
    some = max(min(n, count), 0)
    found: Codes = ((np.arange(some) + 0.5) * n / max(some, 1)).astype(np.intp)
    return found


def _dealt(casks: list[str], room: Room) -> tuple[Glass, ...]:
    """Everybody's seats, going on through the casks where the one before stopped."""
    left = {name: room.glasses_of(name) for name in casks}
    found, place = [], 0
    for assessor in room.assessors:
        mine = 0
        for step in range(len(casks)):
            name = casks[(place + step) % len(casks)]
            if mine == room.seats_of(assessor):
                break
            if left[name] > 0:
                left[name] -= 1
                mine += 1
                reason = Reason(Why.ASKED if name in room.asked else Why.SPREAD)
                found.append(Glass(assessor, name, room.samples.get(name), 0.0, reason))
        place += mine
    return tuple(found)


def _pour(name: str, glasses: tuple[Glass, ...], room: Room) -> CaskToPour:
    mine = _of(name, glasses)
    sample = room.samples.get(name)
    shed = None if sample else room.sheds.get(name)
    return CaskToPour(name, sample, len(mine), 0.0, sample is None, shed, mine[0].reason)


def _of(name: str, glasses: tuple[Glass, ...]) -> list[Glass]:
    return [glass for glass in glasses if glass.cask == name]
