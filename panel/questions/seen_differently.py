"""Who saw one note differently: everybody's means after the reveal, under letters for the page."""

from __future__ import annotations

from collections.abc import Mapping
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

    from analysis.agreement import DescriptorAgreement
    from panel.store.sessions import PanelSession


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
    from analysis.pictures.seen import page_signs
    from panel.frames import find_session, scores_frame
    from panel.questions.agreement import session_agreement
    from panel.questions.own_means import means_of

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
    scores = scores_frame(db, sessions=[name], as_of=as_of)
    means = means_of(scores).get(descriptor, {})
    signs = page_signs(sorted(means), f"{_drawn_from(db, session, scores)}\n{descriptor}")
    return SeenNote(name, note, means, signs)


def _drawn_from(db: Session, session: PanelSession, scores: pd.DataFrame) -> str:
    """What letters are drawn from: who has the page, and everybody's code, cannot draw them again.

    A session sealed here has the secret of its key; one that was loaded has its scores alone.
    """
    secret = db.get(KeySecret, session.id)
    kept = "" if secret is None else f"{secret.seed_hex} {secret.nonce_hex}"
    columns = ["assessor", "sample", "replicate", "descriptor", "score"]
    rows = scores[columns].astype(str).sort_values(columns).to_csv(index=False)
    return sha256(f"{kept}\n{rows}".encode()).hexdigest()
