"""The frame of a session of own words; part of `panel.frames`, which hands it on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import Select, and_, case, literal, select
from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.frames.off_line import number_of, off_line_told
from panel.frames.statuses import status_told
from panel.kinds import GlassKind, SessionStatus
from panel.store.draws import Draw
from panel.store.finding import find_session
from panel.store.key import KeyRow, behind_serving
from panel.store.own_words import OwnScore, OwnWord
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving, SessionAssessor, code_read

if TYPE_CHECKING:
    import pandas as pd

OWN_WORD_COLUMNS = (
    *("session", "assessor", "sample", "replicate", "word", "score", "status", "kind"),
)


def own_words_frame(db: Session, name: str) -> pd.DataFrame:
    """Return a session's scores on own words: one row a glass and word of one assessor.

    Columns: session, assessor, sample, replicate, word, score (0 to 100), status (kept, void,
    re-poured, knew_key, swap_suspected, in_training, off_the_line), kind. Until the reveal samples
    are codes, every replicate is 1, and no kind but the warm-up is told. Words are each assessor's
    own: the same word of two people is two words.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    WrongState
        It is not closed yet, or it was scored on the lexicon.
    """
    import pandas as pd

    session = find_session(db, name)
    _refuse(session)
    revealed = session.status is SessionStatus.REVEALED
    rows = db.execute(_known(session) if revealed else _coded(session)).all()
    frame = pd.DataFrame(rows, columns=list(OWN_WORD_COLUMNS))
    if revealed:
        frame["kind"] = [str(kind.value) for kind in frame["kind"]]
    frame["score"] = [number_of(value) for value in frame["score"]]
    return off_line_told(frame)


def _refuse(session: PanelSession) -> None:
    if not session.kind.facts.own_lines:
        raise WrongState(
            f"Session {session.name} was scored on the house's descriptors, not in own words: "
            f"`oakpanel agreement {session.name}` judges it."
        )
    if session.status not in {SessionStatus.CLOSED, SessionStatus.REVEALED}:
        raise WrongState(
            f"Session {session.name} is {session.status.value}: its words are laid out once it is "
            f"closed, so that nobody can steer it. `oakpanel session show {session.name}` tells "
            "how far it is."
        )


def _joined(session: PanelSession, sample: Any, replicate: Any, kind: Any) -> Select[Any]:
    return (
        select(
            *(literal(session.name), Person.code, sample, replicate),
            *(OwnWord.word, OwnScore.value, status_told(), kind),
        )
        .select_from(OwnScore)
        .join(Serving, Serving.id == OwnScore.serving_id)
        .join(OwnWord, OwnWord.id == OwnScore.own_word_id)
        .join(Person, Person.id == Serving.person_id)
        .outerjoin(
            SessionAssessor,
            and_(
                SessionAssessor.session_id == Serving.session_id,
                SessionAssessor.person_id == Serving.person_id,
            ),
        )
        .where(Serving.session_id == session.id)
        .order_by(SessionAssessor.seat, Serving.flight, Serving.position, Serving.id, OwnWord.place)
    )


def _known(session: PanelSession) -> Select[Any]:
    query = _joined(session, Draw.label, KeyRow.replicate, KeyRow.kind)
    return query.join(KeyRow, behind_serving()).join(Draw, Draw.id == KeyRow.draw_id)


def _coded(session: PanelSession) -> Select[Any]:
    kind = case((Serving.warm_up, GlassKind.WARM_UP.value), else_=GlassKind.TEST.value)
    return _joined(session, code_read(), literal(1), kind)
