"""An open session for booth tests, one of whose two notes is scored by stages."""

from __future__ import annotations

from sqlalchemy import update

from panel.kinds import Manner, SessionKind
from panel.store.engine import Store
from panel.store.sessions import PanelSession, SessionDescriptor
from panel.store.stage_lines import STAGED_FROM
from tests.houses.at_the_booth import WORDS, open_evening


def open_stages(store: Store, *, pause_s: int = 60) -> None:
    """Open an evening at the booths: the first note once, the second at each stage."""
    open_evening(store, words=WORDS[:2], pause_s=pause_s)
    with store.write() as db:
        db.execute(update(PanelSession).values(kind=SessionKind.STAGES, manner=Manner.TASTE))
        staged = update(SessionDescriptor).where(SessionDescriptor.place == 1)
        db.execute(staged.values(place=1 + STAGED_FROM))
