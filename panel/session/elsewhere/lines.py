"""By what a line is known at both sites: its place on the sheet or among words, its question."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from panel.session.elsewhere.values import CarriedLine
from panel.store.booth_tray import Seat

if TYPE_CHECKING:
    from panel.store.sessions import PanelSession, SessionAssessor

Places = Mapping[int, int]
"""By the number of a line in this database: its place."""


def seat_of(chair: SessionAssessor) -> Seat:
    """Return a seat without a booth, to ask what its lines are."""
    return Seat(chair.session_id, chair.person_id, chair.person.code, "")


def sheet_of(session: PanelSession) -> tuple[CarriedLine, ...]:
    """Return the house's lines of a session as a pack carries them; no recipe of a reference."""
    return tuple(
        CarriedLine(
            place=row.place,
            name=row.descriptor_version.descriptor.name,
            version=row.descriptor_version.version,
            meaning=row.descriptor_version.meaning,
            stage=row.descriptor_version.stage,
            low_words=row.descriptor_version.low_words,
            high_words=row.descriptor_version.high_words,
            low=row.scale_low,
            high=row.scale_high,
            ought_to_be_absent=row.descriptor_version.ought_to_be_absent,
        )
        for row in session.descriptors
    )
