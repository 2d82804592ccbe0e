"""One function a page: ask what stands on it and return it as HTML; command and desk call these."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.report.readers import Reader

if TYPE_CHECKING:
    from datetime import date

    from panel.store.engine import Session


def session_report(
    db: Session,
    name: str,
    *,
    today: date,
    as_of: date | None = None,
    reader: Reader = Reader.OTHERS,
    seed: int = 1,
) -> str:
    """Return the page of a closed or revealed session, as on another day where one is named.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or not closed yet.
    """
    from panel.questions.kinds import session_answer
    from panel.questions.sessions import session_facts
    from panel.questions.stands_on import stands_on
    from panel.report.kinds import SESSION_REPORTS

    answer = session_answer(db, name, as_of=as_of, seed=seed)
    facts = session_facts(db, name)
    return SESSION_REPORTS[facts.kind](answer, facts, stands_on(db, as_of or today), reader=reader)
