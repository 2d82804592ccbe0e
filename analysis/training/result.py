"""What exercises say of a person in training: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..agreement.one_session.with_panel import WithPanel
from ..agreement.verdict.words import Verdict, points
from ..as_json import AsJson
from ..counted import count
from ..digits import in_digits
from ..readable import Readable
from .verdict import TrainingWord


@dataclass(frozen=True)
class ExerciseGlass(AsJson):
    """A sample of an exercise on one note, in points of the house line.

    Attributes
    ----------
    score
        What the person gave, repeats averaged.
    panel_points, panel_error_points
        What the panel found in the same sample, and the standard error of that.
    """

    sample: str
    score: float
    panel_points: float
    panel_error_points: float


@dataclass(frozen=True)
class ExerciseNote(AsJson):
    """One note of an exercise.

    Attributes
    ----------
    correlation
        Of the person with the panel's own values over the samples.
    reason
        Why nobody can be judged by it; None where one can.
    glasses
        Sample by sample; only where the panel tells them apart.
    """

    descriptor: str
    correlation: float | None
    reason: str | None
    glasses: tuple[ExerciseGlass, ...] = ()


@dataclass(frozen=True)
class Exercise(AsJson):
    """One exercise: a point of the learning curve.

    Attributes
    ----------
    n_samples, n_notes
        Samples that the panel has values of, and notes that these tell apart.
    correlation
        Mean over those notes.
    off_points, panel_error_points
        How far from the panel's values a score lies on average, with the person's own level taken
        out, and how far those values may be off themselves (their mean standard error).
    reason
        Why it tells nothing; None where it does.
    """

    session: str
    held_on: str | None
    n_samples: int
    n_notes: int
    correlation: float | None
    off_points: float | None
    panel_error_points: float | None
    reason: str | None
    notes: tuple[ExerciseNote, ...]


@dataclass(frozen=True, repr=False)
class Training(AsJson, Readable):
    """How far somebody in training is: for that person and the lead alone.

    Attributes
    ----------
    reading
        Figures of *reads with the panel* over all exercises.
    n_told, n_samples
        Exercises that tell something, and different samples in them.
    least_exercises, least_samples
        So many are asked for.
    """

    assessor: str
    verdict: Verdict[TrainingWord]
    n_exercises: int
    n_told: int
    n_samples: int
    least_exercises: int
    least_samples: int
    reading: WithPanel
    exercises: tuple[Exercise, ...]

    json_keys = (
        *("assessor", "verdict", "n_exercises", "n_told", "n_samples"),
        *("least_exercises", "least_samples"),
        *("reading", "exercises"),
    )

    @property
    def ready(self) -> bool:
        """Whether the word is *ready*."""
        return self.verdict.word is TrainingWord.READY

    def said(self) -> Iterator[str]:
        """Give the word and its sentence, then the curve."""
        label = self.verdict.label
        yield f"{label[0].upper()}{label[1:]}. {_capital(self.verdict.sentence)}"
        yield from (exercise_words(each) for each in self.exercises)

    def rows(self) -> tuple[Exercise, ...]:
        """Give the exercises."""
        return self.exercises


def exercise_words(found: Exercise) -> str:
    """Return one exercise as a sentence."""
    head = f"{found.session}, {found.held_on or 'on a day that is not on record'}"
    if found.correlation is None or found.off_points is None:
        return f"{head}: tells nothing: {found.reason}."
    return (
        f"{head}: correlation {in_digits(found.correlation, '.2f')} on "
        f"{count(found.n_notes, 'note')} of {count(found.n_samples, 'sample')}; "
        f"{points(found.off_points)} from the panel's values, which may be off by "
        f"{points(found.panel_error_points)} themselves."
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
