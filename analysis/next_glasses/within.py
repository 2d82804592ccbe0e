"""The next session for telling whether a vatting is within tolerance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from ..array_types import Matrix, Vector
from ..errors import InputError
from ..target import Target
from ..vatting import MixingRule
from .blend import BlendWeighing, VatLines, vat_lines
from .changes import sample_counts
from .deciding_lines import LinesCost, lines_cost
from .fill import Poured, fill
from .known import Known
from .poured import added_by, casks_to_pour, glasses_of
from .result import Change, NextSession, Question, Reason, Unit, Why
from .room import BLEND, Room
from .settings import NextSettings
from .single import strongest
from .states import states_of
from .stopping import stop_of
from .vat_hangs import mind_of, moves_alone


def next_for_vat(
    known: Known,
    target: Target,
    parts: Mapping[str, float],
    room: Room,
    *,
    rule: MixingRule = MixingRule(),  # noqa: B008  (frozen)
    about: str | None = None,
    blend: bool = True,
    bottles: float | None = None,
    settings: NextSettings = NextSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
) -> NextSession:
    """Choose the next session for telling whether a vatting is within tolerance.

    Parameters
    ----------
    parts
        Litres of each cask.
    rule
        How intensities add up; what it may be off is what a glass of the blend settles best.
    blend
        Whether the parts can be blended on the bench. In `room` it goes by the name `BLEND`.
    bottles
        Bottles of the release: asks for the loss in bottles, those of a vatting that is decided
        wrongly.

    Returns
    -------
    NextSession
        Losses in points: by how much a line that is taken to be within is out, or one that is
        taken to be out is within, weighted over the lines. `chosen` are the parts where every
        line is expected to be within its tolerance, and nothing where one is not.

    Raises
    ------
    InputError
        When a part is not among the casks, or no line of the target has an estimate.

    Notes
    -----
    Each line is a decision of two answers: at the nearer end of its tolerance, the loss of
    deciding now is ``s f(-d/s)`` as in :mod:`analysis.next_glasses.value`. A glass of a part
    makes that part's share of the error smaller; a glass of the blend tells of the whole, with
    what the rule of mixing may be off. What the panel as a whole is off stays.
    """
    lines = _laid(known, target, parts, rule)
    names = [*lines.names, BLEND] if blend else list(lines.names)
    panel = known.panel(room.assessors, lines.notes)
    counts = sample_counts(known, names, panel, room)
    weighing = BlendWeighing(lines, names, panel, counts)
    poured = fill(weighing, room)
    cost = lines_cost(lines, weighing.after())
    told = _told(lines, cost, cost.worst)
    reasons = _reasons(known, lines, names, poured, cost, told, room)
    glasses = glasses_of(poured, names, room, reasons, cost.loss - cost.after)
    within = bool(lines.within.all())
    before = BlendWeighing(lines, names, panel, counts)
    alone = moves_alone(before, cost.worst)
    changes = _changes(before, alone, lines, cost, poured, within)
    each = Counter(names[one.row] for one in poured)
    return NextSession(
        question=Question.WITHIN,
        about=about or target.name,
        unit=Unit.POINTS,
        glasses=glasses,
        casks=casks_to_pour(glasses, room),
        added=added_by(poured),
        chosen=tuple(lines.names) if within else (),
        expected_loss=cost.loss,
        expected_loss_after=cost.after,
        bottles=None if bottles is None else bottles * cost.wrong,
        bottles_after=None if bottles is None else bottles * cost.wrong_after,
        stop=stop_of(cost.loss, known.n_sessions, settings, any_glass=bool(poured)),
        changes=changes,
        left_out=(),
        n_casks=len(lines.names),
        n_glasses_nosed=sum(
            known.nosed[name].n_glasses for name in lines.names if name in known.nosed
        ),
        seed=seed,
        vat=mind_of(before, weighing.whole_after(), cost, told, alone, changes, parts, each, seed)
        if changes
        else None,
    )


def _laid(known: Known, target: Target, parts: Mapping[str, float], rule: MixingRule) -> VatLines:
    notes = [line.descriptor for line in target.lines]
    states = states_of(known, notes, bars=False)
    missing = [name for name in parts if name not in states.names]
    if missing:
        raise InputError(f"Cask {', '.join(missing)} is not among the casks of the stock.")
    rows = states.rows(list(parts))
    place = known.stock.position
    abv = known.stock.abv_percent[[place[name] for name in parts]]
    litres = np.array(list(parts.values()), dtype=np.float64)
    return vat_lines(states.only(rows), target, litres * abv, rule)


def _reasons(
    known: Known,
    lines: VatLines,
    names: Sequence[str],
    poured: Sequence[Poured],
    cost: LinesCost,
    told: tuple[float, float],
    room: Room,
) -> dict[int, Reason]:
    worst = cost.worst
    better, worse = told
    found = {}
    for row in dict.fromkeys(one.row for one in poured):
        name = names[row]
        nosed = known.nosed.get(name)
        is_blend = name == BLEND
        why = Why.ASKED if name in room.asked else Why.BLEND if is_blend else Why.PART
        found[row] = Reason(
            why=why,
            chance=float(cost.chance[worst]),
            if_better=better,
            if_worse=worse,
            off=float(lines.beyond[worst]),
            off_sd=float(np.sqrt(lines.variance[worst])),
            n_glasses=0 if nosed is None else nosed.n_glasses,
            last_nosed=None if nosed is None else nosed.last_nosed,
            years_since=known.years_since(name),
            note=lines.notes[worst],
        )
    return found


def _told(lines: VatLines, cost: LinesCost, line: int) -> tuple[float, float]:
    """Chance that a line is within, if the session finds it better or worse."""
    moved: Vector = np.array([-1.0, 1.0]) * cost.moves[line]
    left = max(float(lines.variance[line] - cost.moves[line] ** 2), 1e-18)
    better, worse = lines.chance_of(line, moved, left)
    return float(better), float(worse)


def _changes(
    weighing: BlendWeighing,
    single: Matrix,
    lines: VatLines,
    cost: LinesCost,
    poured: Sequence[Poured],
    within: bool,
) -> tuple[Change, ...]:
    """Of each part, and the blend: how the glasses could move the line that decides."""
    if not len(weighing.panel.assessors):
        return ()
    worst = cost.worst
    rows = np.arange(len(weighing.names))
    best = strongest(single, poured, rows)
    together = weighing.moves_of(poured, worst)
    found = [
        Change(
            cask=name,
            chosen=within,
            chance=float(cost.chance[worst]),
            crosses=lines.over(worst, float(together[row])),
            one_glass=lines.over(worst, most),
            assessor=None if who < 0 else weighing.panel.assessors[who],
            note=None if who < 0 else lines.notes[worst],
        )
        for row, (name, (most, who)) in enumerate(zip(weighing.names, best, strict=True))
    ]
    return tuple(sorted(found, key=lambda change: -max(change.crosses, change.one_glass)))
