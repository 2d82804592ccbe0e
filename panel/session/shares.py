"""Trays that hold different glasses: duplicates added evenly, split into flights, put in order.

Pure: glasses are known by their places in a list only. Which glasses an assessor has is given; what
is left to chance and balance is which of them stands twice, in which flight and in which place.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import combinations

from panel.session.balance import PositionBalancer, Row
from panel.session.blocks import DesignError, in_serving_order, measured, searched
from panel.session.codes import shuffled
from panel.session.design_figures import DesignFigures, of_blocks


@dataclass(frozen=True)
class OrderedShares:
    """`trays[assessor][flight]` lists glasses in order of nosing; `words` say how even it is."""

    trays: tuple[tuple[Row, ...], ...]
    words: tuple[str, ...]
    figures: DesignFigures


def spread_duplicates(
    trays: Sequence[Sequence[int]], each: int, rng: random.Random, allowed: Collection[int]
) -> list[tuple[int, ...]]:
    """Choose `each` of the allowed samples of every tray to stand there twice, all about as often.

    Trays are gone through at random, so that the last of them is nobody's habit.
    """
    times: Counter[int] = Counter()
    chosen: list[tuple[int, ...]] = [()] * len(trays)
    for place in shuffled(range(len(trays)), rng):
        own = shuffled([sample for sample in trays[place] if sample in allowed], rng)
        own.sort(key=lambda sample: times[sample])
        chosen[place] = tuple(own[:each])
        times.update(chosen[place])
    while _evened(trays, chosen, times, allowed):
        pass
    return chosen


def _evened(
    trays: Sequence[Sequence[int]],
    chosen: list[tuple[int, ...]],
    times: Counter[int],
    allowed: Collection[int],
) -> bool:
    """Hand one choice on from a sample to one chosen at least twice less; say whether one could be.

    It goes from tray to tray: on each, the sample that was handed on gives way to another of it.
    """
    for most in sorted(times, key=lambda sample: -times[sample]):
        came: dict[int, tuple[int, int]] = {}
        waiting = [most]
        while waiting:
            sample = waiting.pop(0)
            if times[sample] <= times[most] - 2:
                _hand_on(chosen, times, came, most, sample)
                return True
            for place, twice in enumerate(chosen):
                if sample in twice:
                    fresh = [s for s in trays[place] if s in allowed and s not in twice]
                    new = [s for s in fresh if s != most and s not in came]
                    came.update((s, (sample, place)) for s in new)
                    waiting += new
    return False


def _hand_on(
    chosen: list[tuple[int, ...]],
    times: Counter[int],
    came: dict[int, tuple[int, int]],
    most: int,
    least: int,
) -> None:
    times[most] -= 1
    times[least] += 1
    sample = least
    while sample != most:
        before, place = came[sample]
        chosen[place] = tuple(sample if s == before else s for s in chosen[place])
        sample = before


def flights_of_trays(
    trays: Sequence[Sequence[int]], glasses: int, size: int, rng: random.Random, search: int = 1
) -> list[list[Row]]:
    """Split every tray into as few flights as hold it, so that glasses meet as evenly as can be."""
    counts = [math.ceil(len(tray) / size) for tray in trays]
    first = [sum(counts[:place]) for place in range(len(trays))]
    own = [range(start, start + count) for start, count in zip(first, counts, strict=True)]
    pairs = [pair for mine in own for pair in combinations(mine, 2)]

    def start() -> list[Row]:
        return [row for tray, n in zip(trays, counts, strict=True) for row in _cut(tray, n, rng)]

    if not pairs:
        flights = start()
    else:
        turns = [turn for count in counts for turn in range(count)]
        flights = searched(start, pairs, turns, glasses, rng, search)
    return [[flights[i] for i in mine] for mine in own]


def _cut(tray: Sequence[int], count: int, rng: random.Random) -> list[Row]:
    left = iter(shuffled(tray, rng))
    sizes = [len(tray) // count + (place < len(tray) % count) for place in range(count)]
    return [tuple(next(left) for _ in range(size)) for size in sizes]


def ordered_shares(
    shares: Sequence[Sequence[Row]],
    samples: Sequence[int],
    classes: Sequence[int],
    rng: random.Random,
) -> OrderedShares:
    """Put the glasses of each flight in order, even in places and neighbours, classes rising.

    `samples[glass]` is what is in a glass: a second glass of a sample is compared as that sample.
    """
    rows = in_serving_order([row for mine in shares for row in mine], classes, rng)
    left = iter(rows)
    trays = tuple(tuple(next(left) for _ in mine) for mine in shares)
    balance = PositionBalancer(rows, classes).balance()
    try:
        design = measured(rows, samples, balance)
    except DesignError:  # no flight ties them, but people do, and the reference
        whole = [tuple(glass for row in tray for glass in row) for tray in trays]
        design = measured(whole, samples, balance, block="tray")
    return OrderedShares(trays, (design.sentence(), balance.sentence()), of_blocks(design))
