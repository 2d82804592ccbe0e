"""What became of a glass that was in hand and is not any more, as the booth says it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.errors import WrongGlass
from panel.seat import sets_said
from panel.seat.jobs import AnswerSet, Job, PutDown
from panel.seat.passing import became
from panel.session import scoring

if TYPE_CHECKING:
    from panel.store.booth_tray import Glass, Tray


def is_another(glass: Glass | None, tray: Tray) -> bool:
    """Tell whether another glass is in hand than the one shown, or none, or one for none."""
    held = scoring.glass_in_hand(tray)
    return (held and held.serving_id) != (glass and glass.serving_id)


def what_became_of(glass: Glass | None, job: Job, tray: Tray) -> tuple[str, bool]:
    """Return what to say of a glass that was in hand and is not any more, and if it is bad."""
    if glass is None:
        return "", False
    if isinstance(job, PutDown) and tray.held_as.facts.passes:
        down = (each for each in tray.glasses if each.serving_id == glass.serving_id)
        return became(next(down, glass)), False
    if isinstance(job, PutDown):
        return f"{glass.code} is put down, with everything kept.", False
    if isinstance(job, AnswerSet):
        return sets_said.kept(tray, job), False
    try:
        scoring.glass_of(tray, glass.code)
    except WrongGlass as error:
        return str(error), True
    return scoring.poured_anew_words(glass.code), True
