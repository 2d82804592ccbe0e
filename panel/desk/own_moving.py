"""One person's row of *is anybody moving*, over all closed sessions: theirs and the lead's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.desk.page import Page
from panel.desk.pin_slip import proved
from panel.records.acts import Act

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.pictures import Picture
    from panel.desk.page import Drawn
    from panel.store.engine import Session


class ShowsMoving(Page):
    """A page about one person: f6 shows their row, once who sits here has proved who they are."""

    @property
    def whose(self) -> str:
        """The code of the person."""
        raise NotImplementedError

    def drawn_as(self) -> Drawn | None:
        """Their row over the sessions, and the hidden reference of the panel above it."""
        return f"{self.whose} over the sessions", lambda db: own_row(db, self.whose)

    def action_picture(self) -> None:
        """Ask for a PIN where the door's is not enough, then draw."""
        proved(self.desk, Act.OWN_PAGE, super().action_picture, about=self.whose)


def own_row(db: Session, code: str) -> Sequence[Picture]:
    """Return the picture of one person; none where they sat in fewer sessions than tell."""
    from panel.pictures.people import moving
    from panel.questions.agreement import span_agreement
    from panel.questions.sessions import sessions_between

    return moving(span_agreement(db, sessions_between(db, None, None)), whose=(code,))
