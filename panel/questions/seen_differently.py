"""Who saw one note differently: everybody's means after the reveal, under letters for the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING

from panel.errors import UnknownRecord, WrongState
from panel.kinds import SessionStatus
from panel.store.key import KeySecret

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.agreement import Agreement, DescriptorAgreement
    from panel.store.sessions import PanelSession


MOST_UNLIKE = 4
"""Notes that a page shows unasked."""


@dataclass(frozen=True)
class SeenNote:
    """One note of a session.

    Attributes
    ----------
    means
        Points of the 0-100 line by assessor and sample.
    signs
        Two letters for each assessor, drawn for this page: the same for the same records, others
        on another note's page or in another session.
    """

    session: str
    note: DescriptorAgreement
    means: Mapping[str, Mapping[str, float]]
    signs: Mapping[str, str]


def seen_note(
    db: Session, name: str, descriptor: str, *, as_of: date | None = None, seed: int = 1
) -> SeenNote:
    """Return how everybody saw one note of a revealed session.

    Raises
    ------
    UnknownRecord, WrongState
        No such session or note; not revealed yet; or scored in own words.
    """
    from panel.frames import find_session
    from panel.questions.agreement import session_agreement

    session = find_session(db, name)
    if session.status is not SessionStatus.REVEALED:
        raise WrongState(
            f"Session {name} is {session.status.value}: who saw a note differently is shown after "
            f"`oakpanel session reveal {name}`."
        )
    result = session_agreement(db, name, as_of=as_of, seed=seed)
    note = next((one for one in result.descriptors if one.descriptor == descriptor), None)
    if note is None:
        known = ", ".join(one.descriptor for one in result.descriptors)
        raise UnknownRecord(f"There is no note {descriptor!r} in {name}; it has {known}.")
    return _seen(db, name, [note], as_of)[0]


def seen_unlike(
    db: Session, result: Agreement, *, as_of: date | None = None, most: int = MOST_UNLIKE
) -> list[SeenNote]:
    """Return the notes of a session's answer that its panel did not see alike, the worst first.

    Before the reveal, and where everything can be acted on, there are none; where too little was
    poured, people are not what matters.
    """
    from analysis.agreement import PanelWord
    from panel.frames import find_session

    if find_session(db, result.session).status is not SessionStatus.REVEALED:
        return []
    words = (PanelWord.CAMPS, PanelWord.DO_NOT, PanelWord.CANNOT_TELL, PanelWord.SECOND_LOOK)
    worst = [note for word in words for note in result.descriptors if note.verdict.word is word]
    return _seen(db, result.session, worst[:most], as_of)


def _seen(
    db: Session, name: str, notes: Sequence[DescriptorAgreement], as_of: date | None
) -> list[SeenNote]:
    from analysis.pictures.seen import page_signs
    from panel.frames import find_session, scores_frame
    from panel.questions.own_means import means_of

    scores = scores_frame(db, sessions=[name], as_of=as_of)
    drawn_from, means = _drawn_from(db, find_session(db, name), scores), means_of(scores)
    found = []
    for note in notes:
        own = means.get(note.descriptor, {})
        signs = page_signs(sorted(own), f"{drawn_from}\n{note.descriptor}")
        found.append(SeenNote(name, note, own, signs))
    return found


def _drawn_from(db: Session, session: PanelSession, scores: pd.DataFrame) -> str:
    """What letters are drawn from: who has the page, and everybody's code, cannot draw them again.

    A session sealed here has the secret of its key; one that was loaded has its scores alone.
    """
    secret = db.get(KeySecret, session.id)
    kept = "" if secret is None else f"{secret.seed_hex} {secret.nonce_hex}"
    columns = ["assessor", "sample", "replicate", "descriptor", "score"]
    rows = scores[columns].astype(str).sort_values(columns).to_csv(index=False)
    return sha256(f"{kept}\n{rows}".encode()).hexdigest()
