"""What the page of the next session asks of the records."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.next_glasses import NextSession
    from panel.desk.app import DeskApp
    from panel.questions.next_choices import NextChoice
    from panel.questions.next_session import NextAnswer
    from panel.questions.next_wanted import NextWanted


def read_next(desk: DeskApp, wanted: NextWanted, release: str | None) -> tuple[NextAnswer, str]:
    """Return what the command of the same question answers, and the sessions it lacks in words."""
    from panel.desk.held_later import later_here
    from panel.questions.next_session import next_session
    from panel.release.next_glasses import next_of_release
    from panel.store.nosed import any_nosed

    with desk.store.read() as db:
        day = desk.today()
        known = desk.known.of(db, as_of=day) if any_nosed(db, day) else None
        later = later_here(db, day)
        if release is not None:
            return next_of_release(db, release, wanted, as_of=day, profile=known), later
        return next_session(db, wanted, as_of=day, profile=known), later


def casks_free(desk: DeskApp, found: NextSession) -> list[tuple[str, str, str]]:
    """Return the casks that could come in: number, wood, make."""
    from panel.store.filling_states import filling_states

    taken = {one.cask for one in found.casks} | {part.cask for part in found.left_out}
    with desk.store.read() as db:
        return [
            (state.cask, state.wood, state.make or "")
            for state in filling_states(db, desk.today())
            if state.emptied_on is None and state.cask not in taken
        ]


def read_choices(desk: DeskApp) -> list[NextChoice]:
    """Return all that can be asked about the next session."""
    from panel.questions.next_choices import next_choices

    with desk.store.read() as db:
        return next_choices(db, as_of=desk.today())
