"""Pictures of people: the lead's, and of each person their own."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from analysis.pictures.moving import is_anybody_moving
from analysis.pictures.seen import who_saw_it

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.agreement import Span
    from analysis.pictures import Picture

PANEL_CALM = "On the hidden reference no movement of the panel is certain."
NO_REFERENCE = "No hidden reference was poured: whether everybody moves at once is not known."
LOOKED_AT = "The dots are to look at; nobody is called a mover by them."


def seen_differently(
    db: Session,
    session: str,
    descriptor: str,
    *,
    own: str | None = None,
    as_of: date | None = None,
    seed: int = 1,
) -> tuple[Picture, ...]:
    """Return one note after the reveal, a row a glass.

    Parameters
    ----------
    own
        Whose own page it is; None for the lead's.

    Raises
    ------
    UnknownRecord, WrongState
        No such session, note or person in it; not revealed yet.
    """
    from panel.errors import UnknownRecord
    from panel.questions.seen_differently import seen_note

    found = seen_note(db, session, descriptor, as_of=as_of, seed=seed)
    if own is not None and own not in found.signs:
        raise UnknownRecord(f"{own} has no score of {descriptor} in {session}.")
    return (who_saw_it(found.note, found.means, found.signs, session=session, own=own),)


def moving(
    db: Session,
    result: Span,
    names: Sequence[str],
    *,
    whose: Sequence[str] | None = None,
    as_of: date | None = None,
) -> tuple[Picture, ...]:
    """Return the panel on the hidden reference, and the rows of people; none where there is none.

    Parameters
    ----------
    whose
        People whose rows are drawn; None for everybody, which is the lead's page.
    """
    from panel.questions.moving import levels_of

    levels = levels_of(db, names, as_of=as_of)
    shown = {who: line for who, line in levels.items() if whose is None or who in whose}
    picture = is_anybody_moving(shown, result.drift, _said(result, shown))
    return (picture,) if picture.rows else ()


def _said(result: Span, shown: object) -> str:
    drift = result.drift
    if drift is None:
        panel = NO_REFERENCE
    elif drift.verdict is not None:
        panel = drift.verdict.sentence
    else:
        panel = PANEL_CALM if drift.reason is None else f"The hidden reference: {drift.reason}."
    return f"{panel} {LOOKED_AT}" if shown else panel
