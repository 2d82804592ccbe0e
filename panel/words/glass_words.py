"""Glasses as they were scored, in columns and sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.kinds import ServingStatus
from panel.words.columns import columns

if TYPE_CHECKING:
    from panel.questions.glasses import Glass, SessionGlasses

NOTES_BESIDE = 6
"""So many notes stand side by side; more go into a table of their own below."""


def session_glass_lines(found: SessionGlasses) -> list[str]:
    """Return every glass of a session, and what was marked and written."""
    if not found.glasses:
        return ["No glass of it was served."]
    lines = [f"Session {found.session}, {found.held_on}: {found.status.value}."]
    if found.glasses_reason:
        lines.append(
            "Scores and marks stand here; what was in the glasses, and the notes that people wrote "
            f"on them, are {found.glasses_reason}."
        )
    if found.after_reopening is not None:
        lines.append(found.after_reopening.words())
    lines += score_tables(found.glasses, found.notes, with_session=False)
    lines += ["", *said_of(found.glasses)]
    if found.not_at_best is not None or found.past:
        lines.append(not_at_best_words(found.not_at_best))
    return lines


def not_at_best_words(codes: Sequence[str] | None) -> str:
    """Return who was not at their best; None: it is kept no longer."""
    if codes is None:
        return "Who was not at their best that day is kept for some days only, and they are over."
    if not codes:
        return "Nobody marked that they were not at their best that day."
    return f"Not at their best that day: {', '.join(codes)}. Speak of it with them alone."


def cask_glass_lines(number: str, glasses: Sequence[Glass]) -> list[str]:
    """Return every glass of a cask over the years."""
    if not glasses:
        return [f"No revealed session has nosed cask {number}."]
    notes = list(dict.fromkeys(note for glass in glasses for note in glass.scores))
    tables = score_tables(glasses, notes, with_session=True)
    return [f"Cask {number} as it was scored, glass by glass:", *tables, "", *said_of(glasses)]


def score_tables(
    glasses: Sequence[Glass], notes: Sequence[str], *, with_session: bool
) -> list[str]:
    """Return the scores in tables, a few notes side by side."""
    lines: list[str] = []
    answers = any(answer_word(glass) for glass in glasses)
    for start in range(0, max(len(notes), 1), NOTES_BESIDE):
        beside = notes[start : start + NOTES_BESIDE]
        heads = (*(("session",) if with_session else ()), "glass", "draw", "by")
        heads = (*heads, *(("answer",) if answers else ()), *beside)
        rows = [
            (
                *((glass.session,) if with_session else ()),
                *(glass.code, glass.draw or "-", glass.assessor),
                *((answer_word(glass) or "-",) if answers else ()),
                *(score_word(glass, note) for note in beside),
            )
            for glass in glasses
        ]
        lines += ["", *columns(heads, rows)]
    return lines


def score_word(glass: Glass, note: str) -> str:
    """Return a score as it was given; a stroke where there is none."""
    value = glass.scores.get(note)
    return "-" if value is None else f"{value:.0f}"


def answer_word(glass: Glass) -> str:
    """Return what was answered on a glass that is not scored; nothing where nothing was."""
    if glass.place is not None:
        return f"{glass.place} in set {glass.flight}"
    if glass.passed is not None:
        return "passed" if glass.passed else "held"
    return ""


def said_of(glasses: Iterable[Glass]) -> Iterator[str]:
    """Give what was marked on glasses and written about them, a line each."""
    for glass in glasses:
        if words := ", ".join(remarks_of(glass)):
            of = f" ({glass.draw})" if glass.draw else ""
            yield f"{glass.assessor} on {glass.code}{of}: {words}"


def remarks_of(glass: Glass) -> list[str]:
    """Return what is out of the ordinary about a glass, the written note last."""
    state = glass.state.value.replace("_", " ")
    said = (
        ("knew the key", glass.knew_key),
        (state, glass.state is not ServingStatus.KEPT),
        (f"pouring {glass.pouring}", glass.pouring > 1),
        (f"read as {glass.read_as}", glass.read_as is not None),
    )
    return [
        *(words for words, true in said if true),
        *(f"fault: {fault}" for fault in glass.faults),
        *([glass.note] if glass.note else []),
    ]


def glass_lines(glass: Glass) -> list[str]:
    """Return one glass in full."""
    place = "the warm-up glass" if glass.warm_up else f"glass {glass.position or '-'}"
    what = f"{glass.draw}, {glass.kind}" if glass.draw else "told after the reveal"
    minutes = glass.minutes_in_hand
    hand = "" if minutes is None else f", {in_digits(minutes, '.1f')} min in hand"
    answer = answer_word(glass)
    taken = "not known when" if glass.taken_at is None else f"taken {glass.taken_at:%H:%M} UTC"
    return [
        f"{glass.session}, {glass.held_on}: {glass.assessor}, {place} of flight {glass.flight}",
        f"What it was: {what}",
        f"Times: {taken}{hand}",
        *([f"Answer: {answer}"] if answer else []),
        *(words[0].upper() + words[1:] for words in remarks_of(glass)),
        "",
        *columns(
            ("note", "score"), [(name, in_digits(v, "g")) for name, v in glass.scores.items()]
        ),
    ]
