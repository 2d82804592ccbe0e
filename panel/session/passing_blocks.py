"""Which glass of a passing session stands in which block of one tray: pure, no database.

Casks come by rising peat. In each block a number of glasses is planted that chance draws anew, so
that nobody can count on one: spikes and known-sound ones, of a make and a peat that the block has.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from panel.kinds import Fault
from panel.session.codes import shuffled

DRAWN_OF = 2
"""A block has up to so many spikes and so many known-sound glasses."""
TRIES = 60
MUSTY = Fault.MOULD_OR_CORK
"""At most one a block: a nose that met it finds little after it."""


@dataclass(frozen=True)
class PassGlass:
    """A liquid that may be poured: `planted` says that it is there to try the nose."""

    draw_id: int
    make: str
    peat: int
    planted: bool = False
    fault: Fault | None = None


@dataclass(frozen=True)
class Amounts:
    """How large a block is, how many there may be, how many are planted and nosed again."""

    block: int
    most_blocks: int
    spikes_a_block: float
    sound_a_block: float
    repeat_share: float


@dataclass(frozen=True)
class Placed:
    """One glass: `replicate` counts the glasses of a draw on the tray, `block` from 1."""

    draw_id: int
    replicate: int
    block: int


def n_repeats(casks: int, share: float) -> int:
    """Return how many of the casks are nosed once more; one at least where any are asked for."""
    return min(casks, max(1, round(casks * share))) if casks and share > 0 else 0


def passing_tray(
    casks: Sequence[PassGlass],
    stock: Sequence[PassGlass],
    amounts: Amounts,
    rng: random.Random,
) -> tuple[Placed, ...]:
    """Return the glasses of one tray by block; two glasses of a cask stand in different blocks."""
    again = shuffled(casks, rng)[: n_repeats(len(casks), amounts.repeat_share)]
    best: list[list[PassGlass]] = []
    least = len(casks) + 1
    for _ in range(TRIES):
        queue = sorted(shuffled([*casks, *again], rng), key=lambda glass: glass.peat)
        blocks = _cut(queue, stock, amounts, rng)
        together = sum(_twice(block) for block in blocks)
        if together < least:
            best, least = blocks, together
        if not least:
            break
    return tuple(_numbered(best))


def _twice(block: Sequence[PassGlass]) -> int:
    counted = Counter(glass.draw_id for glass in block if not glass.planted)
    return sum(times - 1 for times in counted.values())


def _cut(
    queue: Sequence[PassGlass],
    stock: Sequence[PassGlass],
    amounts: Amounts,
    rng: random.Random,
) -> list[list[PassGlass]]:
    blocks: list[list[PassGlass]] = []
    spare = amounts.block * amounts.most_blocks - len(queue)
    at = 0
    while at < len(queue):
        # A last block of few casks has fewer planted ones too, or it would be known for them.
        share = min(1.0, (len(queue) - at) / amounts.block)
        spikes = _drawn(share * amounts.spikes_a_block, rng)
        sound = _drawn(share * amounts.sound_a_block, rng)
        near = queue[at : at + amounts.block - spikes - sound]
        planted = _plants(near, stock, spikes, sound, rng)[: max(0, spare)]
        spare -= len(planted)
        real = queue[at : at + amounts.block - len(planted)]
        at += len(real)
        blocks.append([*real, *planted])
    return blocks


def _drawn(mean: float, rng: random.Random) -> int:
    return sum(rng.random() < mean / DRAWN_OF for _ in range(DRAWN_OF))


def _plants(
    near: Sequence[PassGlass],
    stock: Sequence[PassGlass],
    spikes: int,
    sound: int,
    rng: random.Random,
) -> list[PassGlass]:
    """Draw what is planted among glasses: of their makes and peats, of a musty one at most one."""
    alike = {(glass.make, glass.peat) for glass in near}
    fits = [glass for glass in stock if (glass.make, glass.peat) in alike]
    spiked = _some([glass for glass in fits if glass.fault is not None], spikes, rng)
    plain = _some([glass for glass in fits if glass.fault is None], sound, rng)
    return shuffled([*spiked, *plain], rng)


def _some(fits: Sequence[PassGlass], count: int, rng: random.Random) -> list[PassGlass]:
    found: list[PassGlass] = []
    while fits and len(found) < count:
        left = [glass for glass in fits if not (glass.fault is MUSTY and _has_musty(found))]
        if not left:
            break
        found.append(left[int(rng.random() * len(left))])
    return found


def _has_musty(found: Collection[PassGlass]) -> bool:
    return any(glass.fault is MUSTY for glass in found)


def _numbered(blocks: Sequence[Sequence[PassGlass]]) -> list[Placed]:
    poured: Counter[int] = Counter()
    placed: list[Placed] = []
    for number, block in enumerate(blocks, start=1):
        for glass in block:
            poured[glass.draw_id] += 1
            placed.append(Placed(glass.draw_id, poured[glass.draw_id], number))
    return placed
