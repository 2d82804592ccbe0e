"""How far each person stood off the others, over several sessions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def levels_of(
    db: Session, names: Sequence[str], *, as_of: date | None = None
) -> Mapping[str, tuple[float, ...]]:
    """Return by person points above or below the others, a value a session, the oldest first.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or one still open.
    """
    from analysis.agreement.sessions.off_others import off_the_others
    from analysis.frames import on_house_scale, usable
    from panel.frames import finished_session, scores_frame

    for name in names:
        finished_session(db, name)
    scores = scores_frame(db, sessions=list(names), as_of=as_of)
    return off_the_others(on_house_scale(usable(scores).scores))
