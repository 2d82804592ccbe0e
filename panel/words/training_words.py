"""Who is in training, what is poured for it, and how far one person is: lines for people.

How far somebody is is for that person and the lead: no page to hand on has it.
"""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.training import Exercise, Training
    from panel.questions.training import KnownSample, TrainingLine
    from panel.records.training import TakenIn

NOBODY = "Nobody was ever in training: it begins person by person."
NOTHING_KNOWN = (
    "No sample was scored by five of the panel in a revealed session yet: there is nothing that "
    "somebody in training can be held against."
)
PRIVATE = "For this person and the lead alone."
BAR = 20
"""Signs of a correlation of one."""


def training_lines(found: Training, width: int = 80) -> list[str]:
    """Return how far somebody is: the word, what to do, the curve, then each exercise by note."""
    label, sentence = found.verdict.label, found.verdict.sentence
    head = f"{label[0].upper()}{label[1:]}. {sentence[0].upper()}{sentence[1:]}"
    lines = [*wrap(head, width), *wrap(_asked(found), width), PRIVATE]
    if found.exercises:
        lines += ["", *columns(CURVE, [_point(each) for each in found.exercises])]
        lines += ["", *wrap(READ_SO, width)]
    for each in found.exercises:
        lines += ["", *_notes(each, width)]
    return lines


CURVE = ("exercise", "on", "notes", "corr.", "0 to 1".ljust(BAR), "off", "panel")
READ_SO = (
    "corr.: with the panel's own values of the same samples, mean over the notes that these tell "
    "apart. off: points from those values on average, the person's own level taken out; panel: "
    "points by which the values may be off themselves."
)


def _asked(found: Training) -> str:
    return (
        f"{found.n_told} of {found.n_exercises} exercises tell something, with {found.n_samples} "
        f"different samples; {found.least_exercises} exercises and {found.least_samples} samples "
        "are asked for."
    )


def _point(each: Exercise) -> tuple[str, ...]:
    head = (each.session, each.held_on or "-", str(each.n_notes))
    if each.correlation is None:
        return (*head, "-", "", "-", "-")
    signs = "#" * round(BAR * max(each.correlation, 0.0))
    return (
        *(*head, in_digits(each.correlation, ".2f"), signs),
        *(_tenths(each.off_points), _tenths(each.panel_error_points)),
    )


def _tenths(points: float | None) -> str:
    return "-" if points is None else in_digits(points, ".1f")


def _notes(each: Exercise, width: int) -> list[str]:
    lines = [f"{each.session}, {each.held_on or '-'}"]
    if each.reason is not None:
        return [*lines, *wrap(f"It tells nothing: {each.reason}.", width)]
    for note in each.notes:
        if note.reason is not None:
            lines += _wrapped(f"{note.descriptor}: {note.reason}.", width)
            continue
        glasses = "; ".join(
            f"{glass.sample} {glass.score:.0f} ({glass.panel_points:.0f} ± "
            f"{in_digits(1.96 * glass.panel_error_points, '.0f')})"
            for glass in note.glasses
        )
        said = f"{note.descriptor}, {in_digits(note.correlation or 0.0, '.2f')}: {glasses}"
        lines += _wrapped(said, width)
    return lines


def _wrapped(text: str, width: int) -> list[str]:
    return wrap(text, width, initial_indent="  ", subsequent_indent="    ")


def list_lines(found: Sequence[TrainingLine]) -> list[str]:
    """Return who is or was in training, a line each."""
    if not found:
        return [NOBODY]
    rows = [
        (each.person, str(each.begun_on), str(each.taken_in_on or "-"), str(each.n_exercises))
        for each in found
    ]
    return list(columns(("code", "since", "taken in", "exercises"), rows))


def known_lines(found: Sequence[KnownSample]) -> list[str]:
    """Return what an exercise can be poured from, a line each."""
    if not found:
        return [NOTHING_KNOWN]
    rows = [
        (
            *(each.sample, each.kind.value, str(each.n_assessors), str(each.n_sessions)),
            str(each.last_nosed_on or "-"),
        )
        for each in found
    ]
    return list(columns(("sample", "of", "noses", "sessions", "last nosed"), rows))


def taken_in_words(done: TakenIn) -> str:
    """Say that somebody was taken in, and what that does."""
    return (
        f"{done.person} is one of the panel from {done.taken_in_on} on. What was scored in "
        "training stays apart."
    )
