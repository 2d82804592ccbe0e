"""The places that a set has by its keyed lines, with those that follow from a tick alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.kinds import Task
from panel.session.keyed_lines import PLACE
from panel.session.scoring import poured
from panel.session.sets import set_of, task_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panel.session.keyed_lines import KeyedLine
    from panel.store.booth_tray import Tray


def places_of_sets(
    tray: Tray, mine: Mapping[str, Sequence[KeyedLine]]
) -> dict[int, dict[int, int]]:
    """Return by set the place of each glass in it, with those that follow from a tick alone."""
    sets: dict[int, dict[int, int]] = {}
    for glass in poured(tray):
        for line in mine.get(glass.code, ()):
            if line.what == PLACE and line.value.isdecimal():
                sets.setdefault(glass.flight, {})[glass.serving_id] = int(line.value)
    if task_of(tray).marks_first:  # on paper nobody ticks the reference: its place is the first
        for flight, places in sets.items():
            for one in set_of(tray, flight).glasses[:1]:
                places.setdefault(one.serving_id, 1)
    for flight, places in sets.items():
        places.update(_rest_of(tray, flight, places))
    return sets


def _rest_of(tray: Tray, flight: int, places: Mapping[int, int]) -> dict[int, int]:
    """Return the places that follow from ticks alone; none where more than ticks was keyed."""
    task, glasses = task_of(tray), set_of(tray, flight).glasses
    if task is Task.RANK or set(places.values()) != {1}:
        return {}
    ticked = set(places) | ({glasses[0].serving_id} if task is Task.SORT else set())
    if len(ticked) != (1 if task in (Task.PICK, Task.ODD) else 2):
        return {}
    return {one.serving_id: 1 if one.serving_id in ticked else 2 for one in glasses}
