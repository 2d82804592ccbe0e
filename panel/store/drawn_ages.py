"""How old the spirit in each filling was, from what was filled, re-racked and topped alone.

A sample's age wants none of the gauges, moves, draws and holds that the state of a filling is
reckoned from.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import EventKind
from panel.store.ages import Inherited, Origin, ParentShare, Topping, inheritance
from panel.store.casks import Filling, FillingEvent, standing

_ANY_LPA = 1.0
"""Ages do not hang on how much of a spirit went in."""


def ages_inherited(db: Session, fillings: Iterable[int]) -> dict[int, Inherited]:
    """Return for some fillings what came into them and when, phenols and makes left unsaid.

    Those that spirit came from are in the answer too. Few of a large stock are nosed.
    """
    parents: dict[int, list[ParentShare]] = defaultdict(list)
    toppings: dict[int, list[Topping]] = defaultdict(list)
    columns = (FillingEvent.filling_id, FillingEvent.kind, FillingEvent.happened_on)
    query = (
        select(*columns, FillingEvent.parent_filling_id)
        .where(FillingEvent.kind.in_([EventKind.RE_RACKED, EventKind.TOPPED]), standing())
        .order_by(FillingEvent.happened_on, FillingEvent.id)
    )
    for filling_id, kind, on, parent_id in db.execute(query):
        if EventKind(kind) is EventKind.TOPPED:
            toppings[filling_id].append(Topping(on, parent_id, _ANY_LPA, _ANY_LPA))
        elif parent_id is not None:
            parents[filling_id].append(ParentShare(parent_id, on, _ANY_LPA))
    wanted = _with_those_before(fillings, parents, toppings)
    filled: list[tuple[int, date]] = [
        (filling_id, on) for filling_id, on in db.execute(select(Filling.id, Filling.filled_on))
    ]
    return inheritance(
        {
            filling_id: Origin(on, None, parents.get(filling_id, ()), toppings.get(filling_id, ()))
            for filling_id, on in filled
            if filling_id in wanted
        }
    )


def _with_those_before(
    fillings: Iterable[int],
    parents: Mapping[int, Sequence[ParentShare]],
    toppings: Mapping[int, Sequence[Topping]],
) -> set[int]:
    """Some fillings and all that spirit came into them from, however far back."""
    found: set[int] = set()
    waiting = list(fillings)
    while waiting:
        filling_id = waiting.pop()
        if filling_id not in found:
            found.add(filling_id)
            waiting += [each.filling_id for each in parents.get(filling_id, ())]
            given = [each.filling_id for each in toppings.get(filling_id, ())]
            waiting += [each for each in given if each is not None]
    return found
