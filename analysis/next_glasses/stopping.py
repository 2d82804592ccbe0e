"""Whether to go on nosing."""

from __future__ import annotations

from .result import Halt, Stop
from .settings import NextSettings


def stop_of(
    loss: float | None,
    n_sessions: int,
    settings: NextSettings,
    *,
    at: float | None = None,
    any_glass: bool = True,
) -> Stop:
    """Say whether to go on.

    What a fit promises before several sessions is too low: people and spread of the stock were
    just learned, and it takes them for known.

    Parameters
    ----------
    loss
        What deciding now is expected to cost; None where that is not known.
    at
        The loss to stop at, where that is not the house's in points.
    any_glass
        Whether any glass could still change anything.

    Examples
    --------
    >>> [stop_of(0.8, n, NextSettings()).halt.value for n in (5, 6)]
    ['too early to stop', 'enough']
    """
    least = settings.stop_at if at is None else at
    if loss is None:
        halt = Halt.TOO_EARLY if n_sessions < settings.fewest_sessions else Halt.CANNOT_TELL
    elif n_sessions < settings.fewest_sessions:
        halt = Halt.TOO_EARLY
    elif loss <= least:
        halt = Halt.ENOUGH
    else:
        halt = Halt.GO_ON if any_glass else Halt.NOTHING_LEFT
    return Stop(halt, least, n_sessions, settings.fewest_sessions)
