"""A cask of the session changed for another by hand, and what that costs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from ..errors import InputError
from .result import NextSession
from .room import Room


@dataclass(frozen=True)
class Swap:
    """A session with one cask in place of another.

    Attributes
    ----------
    out, into
        The cask that goes, and the one that comes; None where the rest fills its seats.
    price
        By how much less the session saves, in the unit of its loss; below zero where it saves
        more (by the luck of the draws, or because the limits were drawn in another order).
    session
        The session as it then is.
    """

    out: str
    into: str | None
    price: float | None
    session: NextSession


def price_of_swap(
    session: NextSession,
    room: Room,
    out: str,
    into: str | None,
    plan: Callable[[Room], NextSession],
) -> Swap:
    """Plan a session again with one cask changed for another.

    All its other casks stay; who noses which of them is chosen anew.

    Parameters
    ----------
    session, room
        The session, and the room that it was planned in.
    out, into
        The cask that goes and the one that comes. Without `into` the seats go to what adds most.
    plan
        What planned the session, such as ``lambda room: next_for_target(known, target, k, room)``.

    Raises
    ------
    InputError
        When the cask that goes is not in the session, or the one that comes is.

    Examples
    --------
    A session of casks a and b, planned for anybody's room:

    >>> import pandas as pd
    >>> from oakpanel.analysis.next_glasses import first_session
    >>> casks = pd.DataFrame({"cask": list("abcd"), "filling": list("abcd")})
    >>> room = Room({"A": 2}, pool=2)
    >>> first = first_session(casks, room)
    >>> found = price_of_swap(first, room, "b", "c", lambda room: first_session(casks, room))
    >>> [one.cask for one in first.casks], sorted(one.cask for one in found.session.casks)
    (['b', 'd'], ['c', 'd'])
    """
    poured = [one.cask for one in session.casks if one.cask is not None]
    if out not in poured:
        raise InputError(f"Cask {out} is not in the session. It has {', '.join(poured)}.")
    if into in poured:
        raise InputError(f"Cask {into} is in the session already. Name one that is not.")
    asked = [name for name in room.asked if name != out] + ([into] if into else [])
    stay = tuple(name for name in poured if name != out)
    gone = room.without | {out}
    kept = replace(room, asked=tuple(asked), stay=stay, without=gone, pool=len(poured))
    then = plan(kept)
    known = session.saves is not None and then.saves is not None
    price = (session.saves or 0.0) - (then.saves or 0.0) if known else None
    return Swap(out, into, price, then)
