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

from panel.session.balance import Row
from panel.session.blocks import in_serving_order, measured
from panel.session.codes import shuffled
from panel.session.exchange import Exchanger


@dataclass(frozen=True)
class OrderedShares:
    """`trays[assessor][flight]` lists glasses in order of nosing; `words` say how even it is."""

    trays: tuple[tuple[Row, ...], ...]
    words: tuple[str, ...]


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
    trays: Sequence[Sequence[int]], glasses: int, size: int, rng: random.Random
) -> list[list[Row]]:
    """Split every tray into as few flights as hold it, so that glasses meet as evenly as can be."""
    start: list[Row] = []
    turns: list[int] = []
    own: list[range] = []
    for tray in trays:
        count = max(1, math.ceil(len(tray) / size))
        left = iter(shuffled(tray, rng))
        own.append(range(len(start), len(start) + count))
        turns += range(count)
        for place in range(count):
            share = len(tray) // count + (place < len(tray) % count)
            start.append(tuple(next(left) for _ in range(share)))
    pairs = [pair for mine in own for pair in combinations(mine, 2)]
    flights = Exchanger(start, glasses, turns).anneal(pairs, rng) if pairs else start
    return [[tuple(flights[i]) for i in mine] for mine in own]


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
    design = measured(rows, samples, classes)
    return OrderedShares(trays, (design.sentence(), design.balance.sentence()))
