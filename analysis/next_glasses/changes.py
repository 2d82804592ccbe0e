"""What would change your mind: which casks a session, or a single glass, may move over the cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.special

from ..array_types import Codes, Stack, Vector
from ..bars import NOTHING_AGREED, Allowed
from ..target import Target
from .besides import besides_of
from .deciding import Cost, cost_of
from .fill import Poured, fill
from .known import Known
from .margins import BestWeighing, Margins, margins_of
from .panel import PanelNoise
from .result import Change
from .room import Room
from .settings import NextSettings
from .states import shaped_states

_SAME_YEARS = 1.0
"""A draw within so many years of the last one is the same to a nose."""

_LEAST = 0.25
"""Points by which a cask has to be past the cut: by less nobody would choose otherwise."""


def what_would_change(
    known: Known,
    target: Target,
    chosen: Sequence[str],
    room: Room,
    *,
    settings: NextSettings = NextSettings(),  # noqa: B008  (frozen)
    allowed: Allowed = NOTHING_AGREED,
    seed: int = 1,
) -> tuple[Change, ...]:
    """What the next session could change about casks that were picked already.

    Parameters
    ----------
    chosen
        The picks: the first of a list, the parts of a vatting or of a release. They stand as
        they are; the session is the one that tells most about them against all others.
    room
        What that session has room for.

    Returns
    -------
    tuple of Change
        The picks and the casks next to them, those likeliest to change first.
    """
    found = best_session(
        known, target, len(chosen), room, chosen, settings=settings, allowed=allowed, seed=seed
    )
    return found.changes(known, room, settings)


@dataclass(frozen=True, eq=False)
class BestSession:
    """The session that tells most about the nearest casks, and what deciding costs beside it."""

    margins: Margins
    weighing: BestWeighing
    poured: tuple[Poured, ...]
    cost: Cost

    def changes(self, known: Known, room: Room, settings: NextSettings) -> tuple[Change, ...]:
        """What it may move over the cut."""
        before = weighing_of(known, self.margins, room)
        return changes_of(self.margins, before, self.cost.belongs, self.cost.crosses, settings)


def best_session(
    known: Known,
    target: Target,
    k: int,
    room: Room,
    chosen: Sequence[str] | None,
    *,
    settings: NextSettings,
    allowed: Allowed,
    seed: int,
) -> BestSession:
    """Fill the next session for the `k` nearest casks, or for those chosen already."""
    notes = [line.descriptor for line in target.lines]
    margins = margins_of(shaped_states(known, notes, allowed), target, k, chosen)
    weighing = weighing_of(known, margins, room)
    poured = fill(weighing, room)
    besides = besides_of(known, notes, room.assessors)
    cost = cost_of(
        *(margins, weighing.moves, settings.draws, seed), told=weighing.told, besides=besides
    )
    return BestSession(margins, weighing, poured, cost)


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


def changes_of(
    margins: Margins,
    weighing: BestWeighing,
    belongs: Vector,
    crosses: Vector,
    settings: NextSettings,
) -> tuple[Change, ...]:
    """Tell of the chosen and the casks next to them.

    Parameters
    ----------
    weighing
        With nothing poured: what a single glass would do.
    belongs, crosses
        Of each cask, the chance to belong to the nearest and to cross the cut by the session.
    """
    rows = looked_at(margins, crosses, settings)
    if not len(rows):
        return ()
    moves = np.sqrt(np.maximum(margins.variance[rows][:, None] - weighing.variances(rows), 0.0))
    best = moves.argmax(axis=1) if moves.shape[1] else np.zeros(len(rows), dtype=np.intp)
    found = []
    for at, row in enumerate(rows):
        most = float(moves[at, best[at]]) if moves.shape[1] else 0.0
        one = _over(float(margins.distance[row]), most)
        found.append(
            Change(
                cask=margins.states.names[row],
                chosen=bool(margins.chosen[row]),
                chance=float(belongs[row]),
                crosses=float(crosses[row]),
                one_glass=one,
                assessor=weighing.panel.assessors[best[at]] if one > 0.0 else None,
                note=telling_note(margins, weighing.panel, int(row)) if one > 0.0 else None,
            )
        )
    return tuple(sorted(found, key=lambda change: -change.crosses))


def looked_at(margins: Margins, crosses: Vector, settings: NextSettings) -> Codes:
    """The chosen, and the others that are likeliest to cross or lie next to the cut."""
    others = np.flatnonzero(~margins.chosen & margins.states.foretellable)
    ranked = others[np.lexsort((margins.off[others], -crosses[others]))]
    found: Codes = np.concatenate([np.flatnonzero(margins.chosen), ranked[: settings.near]])
    return found


def telling_note(margins: Margins, panel: PanelNoise, row: int) -> str:
    """The note of which one score would move how far off a cask is the most."""
    covariance, slope = margins.states.covariance[row], margins.slopes[row]
    noise = 1.0 / np.maximum(panel.information(np.ones_like(panel.scale)).max(axis=0), 1e-12)
    told = (covariance @ slope) ** 2 / (np.diag(covariance) + noise)
    return margins.states.notes[int(np.argmax(told))]


def _over(distance: float, moves: float) -> float:
    """Chance that a mean which moves by a normal gets past a cut by what counts.

    A cask that lies on the cut is past it half the time by next to nothing, whatever is poured.
    """
    if moves <= 0.0 or not np.isfinite(distance):
        return 0.0
    return float(scipy.special.ndtr(-(distance + _LEAST) / moves))


def shifted(margins: Margins, row: int, moves: float, sd_after: float) -> Vector:
    """Chance that a cask is on the chosen side now, and if it is found better or worse.

    Better and worse are one standard deviation of what the glasses can be expected to say.
    """
    side = 1.0 if margins.off[row] <= margins.cut[row] else -1.0
    to_cut = side * float(margins.distance[row])
    now = max(float(np.sqrt(margins.variance[row])), 1e-9)
    then = max(sd_after, 1e-9)
    z = np.array([to_cut / now, (to_cut + moves) / then, (to_cut - moves) / then])
    found: Vector = scipy.special.ndtr(z)
    return found
