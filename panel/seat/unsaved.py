"""What is not on disk yet, as a person reads it and may write it down."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from panel.seat.jobs import AnswerSet, Job, KeepNote, KeepPrompt, MarkFault, NameWord

if TYPE_CHECKING:
    from panel.seat.keeper import Keeper
    from panel.store.booth_tray import Tray


def unsaved_words(tray: Tray, keeper: Keeper) -> list[str]:
    """Return own words, then scores by glass and line, then answers, marks and notes."""
    codes = {glass.serving_id: glass.code for glass in tray.glasses}
    names = {line.version_id: line.name for line in tray.lines}
    jobs = keeper.under_way()
    scores = [
        f"{codes.get(glass, '')} {names.get(line, '')} {'blank' if value is None else value}"
        for glass, values in keeper.unsaved().items()
        for line, value in values.items()
    ]
    words = [f"the word {job.typed}" for job in jobs if isinstance(job, NameWord)]
    return [*words, *scores, *_marks_and_notes(jobs, codes, names)]


def _marks_and_notes(
    jobs: Iterable[Job], codes: Mapping[int, str], names: Mapping[int, str]
) -> Iterable[str]:
    for job in jobs:
        if isinstance(job, MarkFault):
            off = "" if job.on else " taken off"
            yield f"{codes.get(job.serving_id, '')} fault mark {job.fault}{off}"
        elif isinstance(job, KeepPrompt):
            yield f"{codes.get(job.serving_id, '')} {names.get(job.number, '')}: {job.value}"
        elif isinstance(job, AnswerSet):
            told = ", ".join(f"{codes.get(glass, '')}: {n}" for glass, n in job.places.items())
            yield f"the answer to set {job.number} ({told or 'left'})"
        elif isinstance(job, KeepNote):
            yield f"{codes.get(job.serving_id, '')} note: {job.text or 'none'}"
