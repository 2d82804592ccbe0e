"""From scores to what is said of a person in training."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from ..agreement.indices.layout import ScoreLayout
from ..agreement.one_session.in_one_order import classes_of
from ..agreement.one_session.serving import all_without_order
from ..agreement.one_session.with_panel import Told, reads_with, told_beside
from ..agreement.settings import AgreementSettings
from ..frames import on_house_scale, usable
from ..score_statuses import IN_TRAINING, USED
from .result import Exercise, ExerciseGlass, ExerciseNote, Training
from .settings import TrainingSettings
from .verdict import TrainingFacts, training_verdict

ONE_ORDER = "everybody had its samples in one order, so that glass and order cannot be told apart"
NO_VALUES = "the panel has nosed fewer than two of its samples"


def assess_training(
    scores: pd.DataFrame,
    assessor: str,
    *,
    since: date | None = None,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    rules: TrainingSettings = TrainingSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
) -> Training:
    """Say how far somebody in training is, exercise by exercise.

    An exercise is a session in which the person sat while in training, alone or beside the panel.
    Each note of it is laid beside the panel's own values of the same samples: all that the panel
    ever scored of them, whether in this session or another. From there on all is as for anybody of
    the panel: notes told apart by the others alone (`told_beside`), and one question to all notes
    and exercises together (`reads_with`).

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) with the exercises, and the sessions in which the panel
        nosed their samples. The person's scores count where their status is *in_training*.
    assessor
        Whom it is about.
    since
        The day on which the training began: an exercise of an earlier one does not count.
    settings, rules
        The thresholds of the panel's words, and how many exercises are asked for.
    seed
        Of the rearrangements.

    Returns
    -------
    Training

    Raises
    ------
    FrameError
        The frame cannot be used.

    Examples
    --------
    >>> rng = np.random.default_rng(2)
    >>> names = ["session", "held_on", "assessor", "sample", "replicate", "descriptor", "score",
    ...          "status"]
    >>> rows = [(f"S{t}", f"2026-0{t + 1}-10", who, f"x{t}{s}", 1, "smoke",
    ...          12.0 * s + rng.normal(20, 3), "in_training" if who == "T" else "kept")
    ...         for t in range(4) for who in "ABCDEFT" for s in range(6)]
    >>> assess_training(pd.DataFrame(rows, columns=names), "T").verdict.label
    'ready'
    """
    used = usable(scores, keep=(*USED, IN_TRAINING)).scores
    level = all_without_order(on_house_scale(used))
    own = level[(level["assessor"] == assessor) & (level["status"] == IN_TRAINING)]
    if since is not None:
        own = own[own["held_on"] >= pd.Timestamp(since)]
    panel = level[(level["assessor"] != assessor) & level["status"].isin(USED)]
    found = [_laid(rows, panel, assessor, settings) for rows in _by_exercise(own)]
    told = [one.told for one in found]
    n_told = sum(bool(notes) for notes in told)
    reading = reads_with(told, settings, seed)
    n_samples = len({sample for notes in told for note in notes for sample in note.scored})
    facts = TrainingFacts(reading, len(found), n_told, n_samples, rules)
    return Training(
        assessor=assessor,
        verdict=training_verdict(assessor, facts),
        n_exercises=len(found),
        n_told=n_told,
        n_samples=n_samples,
        least_exercises=rules.least_exercises,
        least_samples=rules.least_samples,
        reading=reading,
        exercises=tuple(one.exercise(settings) for one in found),
    )


def _by_exercise(own: pd.DataFrame) -> list[pd.DataFrame]:
    """The person's rows, exercise by exercise as they were held."""
    parts = [part for _, part in own.groupby("session", sort=True)]
    return sorted(parts, key=lambda part: (part["held_on"].isna().any(), part["held_on"].min()))


@dataclass(frozen=True)
class _Laid:
    """An exercise beside the panel: by note, what it tells or why it tells nothing."""

    session: str
    held_on: str | None
    n_samples: int
    notes: tuple[tuple[str, Told | str], ...]

    @property
    def told(self) -> list[Told]:
        """The notes that the panel tells apart."""
        return [found for _, found in self.notes if isinstance(found, Told)]

    def exercise(self, settings: AgreementSettings) -> Exercise:
        """Its point of the curve."""
        told = self.told
        glasses = [glass for each in told for glass in _glasses(each)]
        off = [abs(part) for each in told for part in _off(each)]
        return Exercise(
            session=self.session,
            held_on=self.held_on,
            n_samples=self.n_samples,
            n_notes=len(told),
            correlation=reads_with([told], settings).correlation,
            off_points=float(np.mean(off)) if off else None,
            panel_error_points=_mean_error(glasses),
            reason=None if told else self._reason,
            notes=tuple(_note(name, found, settings) for name, found in self.notes),
        )

    @property
    def _reason(self) -> str:
        reasons = list(dict.fromkeys(why for _, why in self.notes if isinstance(why, str)))
        return "; ".join(reasons) if self.n_samples > 1 and reasons else NO_VALUES


def _laid(
    rows: pd.DataFrame, panel: pd.DataFrame, assessor: str, settings: AgreementSettings
) -> _Laid:
    """Lay one exercise beside all that the panel scored of its samples."""
    samples = set(rows["sample"]) & set(panel["sample"])
    known = panel[panel["sample"].isin(samples)]
    notes = tuple(
        (str(note), _told(part, known[known["descriptor"] == note], assessor, settings))
        for note, part in rows[rows["sample"].isin(samples)].groupby("descriptor", sort=True)
    )
    day = rows["held_on"].min()
    held_on = None if pd.isna(day) else str(pd.Timestamp(day).date())
    return _Laid(str(rows["session"].iloc[0]), held_on, len(samples), notes)


def _told(
    own: pd.DataFrame, panel: pd.DataFrame, assessor: str, settings: AgreementSettings
) -> Told | str:
    both = pd.concat([own, panel[panel["sample"].isin(set(own["sample"]))]], ignore_index=True)
    if classes_of(both)[1]:
        return ONE_ORDER
    layout = ScoreLayout.of(both)
    row = layout.assessors.index(assessor)
    return told_beside(layout, row, settings.tolerance, settings)


def _note(name: str, found: Told | str, settings: AgreementSettings) -> ExerciseNote:
    if isinstance(found, str):
        return ExerciseNote(name, None, found)
    correlation = reads_with([[found]], settings).correlation
    return ExerciseNote(name, correlation, None, tuple(_glasses(found)))


def _glasses(told: Told) -> Sequence[ExerciseGlass]:
    errors = _errors(told)
    return [
        ExerciseGlass(sample, float(own), float(panel), float(error))
        for sample, own, panel, error in zip(
            told.samples, told.own, _values(told), errors, strict=True
        )
        if not (np.isnan(own) or np.isnan(panel))
    ]


def _values(told: Told) -> np.ndarray:
    """The panel's values: the others' lines, at their own mean level."""
    level = np.nanmean([np.nanmean(own) for own in told.each.values() if not np.isnan(own).all()])
    values: np.ndarray = told.others - np.nanmean(told.others) + level
    return values


def _errors(told: Told) -> np.ndarray:
    """Standard error of each of the panel's values: of so many cells as there are of a sample."""
    n = np.sum([~np.isnan(own) for own in told.each.values()], axis=0)
    errors: np.ndarray = np.sqrt(told.noise / np.maximum(n, 1))
    return errors


def _off(told: Told) -> np.ndarray:
    own, others = told.both
    off: np.ndarray = own - others
    return off


def _mean_error(glasses: Sequence[ExerciseGlass]) -> float | None:
    return float(np.mean([glass.panel_error_points for glass in glasses])) if glasses else None
