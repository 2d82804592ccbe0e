"""Pictures of people: the lead's, and of each person their own."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

from analysis.pictures.learning import is_it_nearer
from analysis.pictures.moving import is_anybody_moving
from analysis.pictures.seen import who_saw_it

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.agreement import Drift, Span
    from analysis.pictures import Picture
    from analysis.training import Training

PANEL_CALM = "On the hidden reference no movement of the panel is certain."
NO_REFERENCE = "No hidden reference was poured: whether everybody moves at once is not known."
NOBODY = "Of nobody here is a movement certain."
TOO_FEW = "Whether anybody here moves cannot be told before ten sessions."


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


def moving(result: Span, *, whose: Collection[str] | None = None) -> tuple[Picture, ...]:
    """Return the panel on the hidden reference, and the rows of people; none where there is none.

    Parameters
    ----------
    whose
        People whose rows are drawn; None for everybody, which is the lead's page.
    """
    shown = [
        person.drift
        for person in result.assessors
        if person.drift is not None and (whose is None or person.assessor in whose)
    ]
    picture = is_anybody_moving(shown, result.drift, " ".join(_said(result.drift, shown)))
    return (picture,) if picture.rows else ()


def learning(found: Training) -> tuple[Picture, ...]:
    """Return the learning curve of one person, for them and the lead; none where there is none."""
    picture = is_it_nearer(found)
    return () if picture is None else (picture,)


def _said(panel: Drift | None, people: Sequence[Drift]) -> Iterator[str]:
    if panel is None:
        yield NO_REFERENCE
    elif panel.verdict is not None:
        yield panel.verdict.sentence
    else:
        yield PANEL_CALM if panel.reason is None else f"The hidden reference: {panel.reason}."
    called = [chart.verdict.sentence for chart in people if chart.verdict is not None]
    yield from called
    charted = [chart for chart in people if chart.reason is None]
    if people and not charted:
        yield TOO_FEW
    elif people and not called:
        yield NOBODY
