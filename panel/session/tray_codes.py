"""The codes of trays on which not everybody has the same glasses, or of more than keep a distance.

Codes of one session are always distinct where all read the same ones. That they cannot be mistaken
for each other either is asked of all first, then of those of one tray, then of those of one flight
on a tray: more than about 60 that all keep the distance do not exist.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Sequence

from panel.session.balance import Row
from panel.session.codes import (
    CodesError,
    CodeSharing,
    draw_codes,
    draw_codes_together,
    draw_tray_codes,
)

Tray = Sequence[Row]
"""Flights of one assessor: places of glasses in the list of the session."""


def codes_of_trays(
    trays: Sequence[Tray],
    glasses: int,
    warm_up: int | None,
    rng: random.Random,
    avoid: Collection[str],
    sharing: CodeSharing,
) -> tuple[tuple[str, ...], ...]:
    """Return `codes[assessor][glass]`; a glass that is not on a tray of own codes has none ("").

    Raises `CodesError` when no codes were found that can be told apart within a flight.
    """
    alike = all(_on(tray, warm_up) == set(range(glasses)) for tray in trays)
    if sharing is CodeSharing.EACH_ASSESSOR and not alike:
        return _own_codes(trays, glasses, warm_up, rng, avoid)
    try:
        return draw_tray_codes(len(trays), glasses, rng, avoid, sharing).trays
    except CodesError:
        if sharing is CodeSharing.EACH_ASSESSOR:
            return _own_codes(trays, glasses, warm_up, rng, avoid)
    shared = _nearest(glasses, trays, warm_up, rng, avoid)
    return (tuple(shared),) * len(trays)


def _on(tray: Tray, warm_up: int | None) -> set[int]:
    own = {glass for row in tray for glass in row}
    return own if warm_up is None else own | {warm_up}


def _nearest(
    glasses: int,
    trays: Sequence[Tray],
    warm_up: int | None,
    rng: random.Random,
    avoid: Collection[str],
) -> list[str]:
    first = () if warm_up is None else (warm_up,)
    flights = [(*row, *(first if place == 0 else ())) for t in trays for place, row in enumerate(t)]
    try:
        return draw_codes_together(glasses, [_on(tray, warm_up) for tray in trays], rng, avoid)
    except CodesError:
        return draw_codes_together(glasses, flights, rng, avoid)


def _own_codes(
    trays: Sequence[Tray],
    glasses: int,
    warm_up: int | None,
    rng: random.Random,
    avoid: Collection[str],
) -> tuple[tuple[str, ...], ...]:
    found: list[tuple[str, ...]] = []
    used = set(avoid)
    for tray in trays:
        own = sorted(_on(tray, warm_up))
        try:
            codes = draw_codes(len(own), rng, used)
        except CodesError:  # none left that is new, or the tray holds too many
            used = set(avoid)
            codes = _one_tray(own, tray, warm_up, rng, avoid)
        used.update(codes)
        by_glass = dict(zip(own, codes, strict=True))
        found.append(tuple(by_glass.get(glass, "") for glass in range(glasses)))
    return tuple(found)


def _one_tray(
    own: Sequence[int],
    tray: Tray,
    warm_up: int | None,
    rng: random.Random,
    avoid: Collection[str],
) -> list[str]:
    place = {glass: number for number, glass in enumerate(own)}
    rows = [tuple(place[glass] for glass in row) for row in tray]
    first = None if warm_up is None else place[warm_up]
    return _nearest(len(own), [rows], first, rng, avoid)
