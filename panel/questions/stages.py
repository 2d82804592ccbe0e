"""What sessions with stages found: how far to believe them, and where their notes lie."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panel.kinds import SessionStatus
from panel.store.finding import find_session

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.agreement import Agreement
    from analysis.stages import Stages


@dataclass(frozen=True)
class StagesFound:
    """A session on the lexicon with its agreement, and the notes by stages once it is revealed."""

    agreement: Agreement
    stages: Stages | None

    json_keys = (("agreement", "**"), "stages")
    json_sometimes = ()

    def to_dict(self, *, private: bool = False) -> dict[str, Any]:
        """Return plain values: those of the agreement, and `stages` beside them."""
        stages = None if self.stages is None else self.stages.to_dict()
        return {**self.agreement.to_dict(private=private), "stages": stages}


def stages_found(
    db: Session, name: str, *, as_of: date | None = None, seed: int = 1
) -> StagesFound:
    """Return the agreement of a closed or revealed session, and after the reveal its stages.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or not closed yet.
    """
    from analysis.stages import assess_stages
    from panel.frames.stages import stages_frame
    from panel.questions.agreement import session_agreement

    agreement = session_agreement(db, name, as_of=as_of, seed=seed)
    if find_session(db, name).status is not SessionStatus.REVEALED:
        return StagesFound(agreement, None)
    return StagesFound(agreement, assess_stages(stages_frame(db, name), session=name))
