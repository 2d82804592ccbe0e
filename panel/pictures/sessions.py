"""Pictures of what a session says, by what kind of answer it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.agreement import Agreement
from analysis.pictures.found import what_was_found

if TYPE_CHECKING:
    from analysis.pictures import Picture


def pictures_of(answer: object) -> tuple[Picture, ...]:
    """Return the pictures of a session's answer; none where its lines are not the house's."""
    return (what_was_found(answer),) if isinstance(answer, Agreement) else ()
