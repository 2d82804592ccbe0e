"""The next session for choosing the best casks for a target."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ..bars import NOTHING_AGREED, Allowed
from ..target import Target
from .changes import best_session
from .deciding import Cost
from .fill import Poured
from .known import Known
from .margins import BestWeighing, Margins
from .poured import added_by, casks_to_pour, glasses_of
from .result import NextSession, Question, Reason, Unit, Why
from .room import Room
from .settings import NextSettings
from .single import telling_note
from .states import States
from .stopping import stop_of


def next_for_target(
    known: Known,
    target: Target,
    k: int,
    room: Room,
    *,
    bottles: Mapping[str, float] | None = None,
    settings: NextSettings = NextSettings(),  # noqa: B008  (frozen)
    allowed: Allowed = NOTHING_AGREED,
    seed: int = 1,
) -> NextSession:
    """Choose the next session for the best `k` casks for a target.

    Parameters
    ----------
    known
        Casks as of the day of the decision, people, and what was nosed.
    k
        How many casks are wanted.
    room
        Seats, samples and limits.
    bottles
        By cask, the bottles it would give; asks for what the loss is in bottles: those expected
        to come from casks that do not belong to the nearest.
    settings
        When to stop, and how much is drawn.
    allowed
        Bars that are lifted; what else forbids choosing a cask leaves it out.
    seed
        Of the draws.

    Returns
    -------
    NextSession
        Losses and values in points by which the mean of the chosen is further off the target
        than that of the truly nearest.

    Notes
    -----
    See :mod:`analysis.next_glasses.value` for what a glass is worth, and
    :mod:`analysis.target.off` for how far off a cask is. A cask nobody nosed and nothing
    foretells may be poured but not chosen, nor may one of sessions that share no glass with those
    compared: a glass of it beside the others ties all casks of its evening to them.

    Examples
    --------
    >>> import pandas as pd
    >>> from oakpanel.analysis.profile import estimate_profile
    >>> from oakpanel.analysis.target import TargetLine
    >>> from oakpanel.analysis.vatting import stock_from_profile
    >>> from oakpanel.analysis.next_glasses import known_from
    >>> levels = {"x": 20, "y": 41, "z": 44, "v": 70}
    >>> scores = pd.DataFrame([
    ...     {"session": "S1", "assessor": a, "sample": s, "cask": s, "filling": s, "replicate": r,
    ...      "descriptor": "smoke", "score": level + 7 * (r == 1) - 5 * (a == "B") * (s > "x")}
    ...     for a in "ABC" for s, level in levels.items() for r in (1, 2)
    ... ])
    >>> casks = pd.DataFrame({"cask": list(levels), "age_years": 8.0, "abv": 60.0, "bulk_l": 180.0})
    >>> casks["filling"] = casks["cask"]
    >>> profile = estimate_profile(scores)
    >>> known = known_from(profile, scores, stock_from_profile(profile, casks))
    >>> fen = Target("Fen", (TargetLine("smoke", 44, 6),))
    >>> found = next_for_target(known, fen, 1, Room({"A": 2, "B": 2}))
    >>> sorted({glass.cask for glass in found.glasses}), found.stop.halt.value
    (['y', 'z'], 'too early to stop')
    """
    found = best_session(known, target, k, room, settings=settings, allowed=allowed, seed=seed)
    margins, weighing, poured, cost = found.margins, found.weighing, found.poured, found.cost
    reasons = _reasons(known, weighing, poured, room, settings, cost)
    names = margins.states.names
    glasses = glasses_of(poured, names, room, reasons, cost.loss - cost.after)
    wrong = _bottles(margins, cost, bottles)
    return NextSession(
        question=Question.BEST,
        about=target.name,
        unit=Unit.POINTS,
        glasses=glasses,
        casks=casks_to_pour(glasses, room),
        added=added_by(poured),
        chosen=_in_order(margins),
        expected_loss=cost.loss,
        expected_loss_after=cost.after,
        bottles=wrong,
        bottles_after=None if wrong is None else _fallen(wrong, cost),
        stop=stop_of(cost.loss, known.n_sessions, settings, any_glass=bool(poured)),
        changes=found.changes(known, room, settings),
        left_out=margins.states.left_out,
        n_casks=len(names),
        n_glasses_nosed=sum(nosed.n_glasses for nosed in known.nosed.values()),
        seed=seed,
        cut=found.cut,
    )


def _in_order(margins: Margins) -> tuple[str, ...]:
    return tuple(margins.states.names[row] for row in margins.order if margins.chosen[row])


def _bottles(margins: Margins, cost: Cost, bottles: Mapping[str, float] | None) -> float | None:
    """Bottles expected to come from casks that do not belong to the nearest."""
    if bottles is None:
        return None
    names = [
        name for name, chosen in zip(margins.states.names, margins.chosen, strict=True) if chosen
    ]
    each = np.array([bottles.get(name, 0.0) for name in names])
    return float(each @ cost.wrong)


def _fallen(bottles: float, cost: Cost) -> float:
    """Bottles after the session: they fall with the loss."""
    return bottles * cost.after / cost.loss if cost.loss > 0.0 else bottles


def _reasons(
    known: Known,
    weighing: BestWeighing,
    poured: Sequence[Poured],
    room: Room,
    settings: NextSettings,
    cost: Cost,
) -> dict[int, Reason]:
    margins = weighing.margins
    found = {}
    for row in dict.fromkeys(one.row for one in poured):
        name = margins.states.names[row]
        nosed, years = known.nosed.get(name), known.years_since(name)
        found[row] = Reason(
            why=_why(margins.states, row, room, years, settings),
            chance=float(cost.belongs[row]),
            if_better=float(cost.if_better[row]),
            if_worse=float(cost.if_worse[row]),
            off=float(margins.off[row]),
            off_sd=float(np.sqrt(margins.variance[row])),
            n_glasses=0 if nosed is None else nosed.n_glasses,
            last_nosed=None if nosed is None else nosed.last_nosed,
            years_since=years,
            note=telling_note(margins, weighing.panel, row),
        )
    return found


def _why(states: States, row: int, room: Room, years: float | None, settings: NextSettings) -> Why:
    if states.names[row] in room.asked:
        return Why.ASKED
    if states.unnosed[row]:
        return Why.UNNOSED
    if states.apart[row]:
        return Why.APART
    return Why.OLD if years is not None and years > settings.stale_years else Why.DECIDES
