"""What would change your mind: which casks a session, or a single glass, may move over the cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Stack, Vector
from ..bars import Allowed
from ..target import Target
from .besides import besides_of
from .cut import Cut
from .deciding import Cost, cost_of
from .fill import Poured, fill
from .known import Known
from .margins import BestWeighing, Margins, margins_of
from .panel import PanelNoise
from .result import Change
from .room import Room
from .settings import NextSettings
from .single import Single, single_glasses
from .states import shaped_states

_SAME_YEARS = 1.0
"""A draw within so many years of the last one is the same to a nose."""


@dataclass(frozen=True, eq=False)
class BestSession:
    """The session that tells most about the nearest casks, and what deciding costs beside it."""

    margins: Margins
    weighing: BestWeighing
    poured: tuple[Poured, ...]
    cost: Cost
    n_wanted: int
    seed: int

    def changes(self, known: Known, room: Room, settings: NextSettings) -> tuple[Change, ...]:
        """What it may move over the cut."""
        rows = looked_at(self.margins, self.cost.crosses, settings)
        before = weighing_of(known, self.margins, room)
        singles = single_glasses(before, self.weighing, self.poured, rows, self.seed)
        return changes_of(self.margins, self.cost, singles)

    @property
    def cut(self) -> Cut | None:
        """Between which two casks the choice ends; None where nothing is chosen."""
        names, off = self.margins.states.names, self.margins.off
        within, beyond = self.margins.ends
        if within is None:
            return None
        return Cut(
            n_chosen=self.margins.k,
            n_wanted=self.n_wanted,
            within=names[within],
            within_off=float(off[within]),
            beyond=None if beyond is None else names[beyond],
            beyond_off=None if beyond is None else float(off[beyond]),
        )


def best_session(
    known: Known,
    target: Target,
    k: int,
    room: Room,
    *,
    settings: NextSettings,
    allowed: Allowed,
    seed: int,
) -> BestSession:
    """Fill the next session for the `k` nearest casks."""
    notes = [line.descriptor for line in target.lines]
    margins = margins_of(shaped_states(known, notes, allowed), target, k)
    weighing = weighing_of(known, margins, room)
    poured = fill(weighing, room)
    besides = besides_of(known, notes, room.assessors)
    cost = cost_of(
        *(margins, weighing.moves, settings.draws, seed), told=weighing.told, besides=besides
    )
    return BestSession(margins, weighing, poured, cost, k, seed)


def weighing_of(known: Known, margins: Margins, room: Room) -> BestWeighing:
    """What glasses are worth, nothing poured yet."""
    panel = known.panel(room.assessors, margins.states.notes)
    return BestWeighing(margins, panel, sample_counts(known, margins.states.names, panel, room))


def sample_counts(known: Known, names: Sequence[str], panel: PanelNoise, room: Room) -> Stack:
    """Glasses that people had of what will be poured.

    A lasting opinion is of what is in the glass: of another draw, a year later, there is none yet.
    """
    samples = []
    for name in names:
        nosed, at_hand = known.nosed.get(name), room.samples.get(name)
        years = known.years_since(name) or 0.0
        same = nosed is not None and (
            at_hand == nosed.sample or (at_hand is None and years < _SAME_YEARS)
        )
        samples.append(nosed.sample if same and nosed is not None else f"\0{name}")
    return known.counts(samples, panel)


def changes_of(margins: Margins, cost: Cost, singles: Sequence[Single]) -> tuple[Change, ...]:
    """Tell of casks with the glass of the session that could most by itself."""
    within, beyond = margins.ends
    names = margins.states.names
    found = []
    for one in singles:
        chosen = bool(margins.chosen[one.row])
        other = beyond if chosen else within
        crosses = float(cost.crosses[one.row])
        found.append(
            Change(
                cask=names[one.row],
                chosen=chosen,
                chance=float(cost.belongs[one.row]),
                crosses=crosses,
                one_glass=crosses * one.share,
                assessor=one.assessor,
                note=one.note,
                against=None if other is None else names[other],
            )
        )
    return tuple(sorted(found, key=lambda change: -change.crosses))


def looked_at(margins: Margins, crosses: Vector, settings: NextSettings) -> Codes:
    """The chosen, and the others that are likeliest to cross or lie next to the cut."""
    some = margins.states.foretellable | (margins.states.apart & (crosses > 0.0))
    others = np.flatnonzero(~margins.chosen & some)
    ranked = others[np.lexsort((margins.off[others], -crosses[others]))]
    found: Codes = np.concatenate([np.flatnonzero(margins.chosen), ranked[: settings.near]])
    return found
