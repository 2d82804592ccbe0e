"""What is said of how much a question needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from ..array_types import Vector
from ..as_json import AsJson
from ..digits import in_digits
from ..errors import InputError
from ..readable import Readable, listed


@dataclass(frozen=True)
class PanelAs:
    """How a panel reads one note, as far as power depends on it.

    Attributes
    ----------
    scale, noise
        Of each person: points for each point of the panel, and noise variance of a glass.
    disagreement
        Variance of the lasting opinion that somebody has of a sample.
    between
        Variance between casks.
    """

    note: str
    scale: tuple[float, ...]
    noise: tuple[float, ...]
    disagreement: float
    between: float

    @property
    def typical_noise(self) -> float:
        """Noise variance that counts: the mean of everybody's, on the panel's own scale."""
        return float(np.mean(np.array(self.noise)))

    def people(self, n: int) -> tuple[Vector, Vector]:
        """Scale and noise of so many people, these over and over."""
        which = np.arange(n) % len(self.scale)
        return np.array(self.scale)[which], np.array(self.noise)[which]


@dataclass(frozen=True)
class Design:
    """How much is poured.

    Attributes
    ----------
    assessors, sessions
        People in each session, and sessions.
    samples
        Different casks in a session, each nosed once by everybody.
    """

    assessors: int
    samples: int
    sessions: int

    def __post_init__(self) -> None:
        """Refuse a design that means nothing."""
        if min(self.assessors, self.samples, self.sessions) < 1:
            raise InputError("People, samples and sessions are each 1 or more.")

    @property
    def glasses(self) -> int:
        """Glasses over all sessions."""
        return self.assessors * self.samples * self.sessions


@dataclass(frozen=True)
class PowerRow:
    """What one design gives on one note.

    Attributes
    ----------
    exact
        Power to tell two casks apart that are `points` apart and stand in every session, if all
        read alike, by the error of all samples, people's means over sessions; None with fewer
        than two people.
    simulated, simulated_se
        How often the program's own error would show a difference of the two, two-sided or as
        surely apart, with each person's own scale and noise; and its error by simulation.
    smallest
        Points that are told apart with a power of .8, if all read alike.
    beyond, smallest_beyond
        How often the program would call the two *surely apart*, by the same error and with each
        person's own scale and noise: further apart than the tolerance, on this note alone; and
        the points that are called so 8 times in 10, None where none on the line are.
    loss
        What choosing the best `best` of `casks` costs after these glasses, dealt evenly over the
        casks, points.
    """

    note: str
    assessors: int
    samples: int
    sessions: int
    glasses: int
    points: float
    exact: float | None
    simulated: float | None
    simulated_se: float | None
    smallest: float | None
    beyond: float | None
    smallest_beyond: float | None
    loss: float


@dataclass(frozen=True)
class Widths:
    """Within what a curve of ageing would be known, 95 times in 100.

    Attributes
    ----------
    casks, glasses
        Casks nosed, and glasses of each in all.
    years
        Span of the ages.
    a_year, a_year_again
        Half the width of the change a year, points: from casks of different ages, and from the
        same casks drawn again at the end of the span.
    level
        Half the width of the curve in the middle of the span, points.
    """

    note: str
    casks: int
    glasses: int
    years: float
    a_year: float
    a_year_again: float
    level: float


@dataclass(frozen=True)
class LossAt:
    """Loss of a choice after so many glasses: a point of the picture."""

    note: str
    glasses: int
    loss: float


@dataclass(frozen=True, repr=False)
class PowerTable(AsJson, Readable):
    """How much a question needs.

    Attributes
    ----------
    tolerance
        Points that nobody would act on; *surely apart* is said of more than these.
    rows_of
        A row for each note and design.
    losses
        Loss against glasses, the choice of the best `best` of `casks`.
    widths
        Of curves of ageing.
    learned
        Whether the panel's own variances are known; else those of a fresh house are taken.
    """

    points: float
    tolerance: float
    casks: int
    best: int
    rows_of: tuple[PowerRow, ...]
    losses: tuple[LossAt, ...]
    widths: tuple[Widths, ...]
    learned: bool
    seed: int

    json_keys = (
        *(
            "points",
            "tolerance",
            "casks",
            "best",
            "learned",
            ("rows_of", "designs"),
            "losses",
            "widths",
        ),
        "seed",
    )

    def said(self) -> Iterator[str]:
        """Give the power and loss of each design."""
        yield from listed(
            (
                f"{row.note}, {row.assessors} people, {row.samples} samples, {row.sessions} "
                f"sessions: of {in_digits(row.points, 'g')} points some difference is seen in "
                f"{_said(row.simulated)}, surely more than {in_digits(self.tolerance, 'g')} in "
                f"{_said(row.beyond)}, the choice costs {in_digits(row.loss, '.1f')} points"
                for row in self.rows_of
            ),
            most=12,
        )

    def rows(self) -> Iterable[object]:
        """Give the designs."""
        return self.rows_of


def _said(power: float | None) -> str:
    return "nothing (two people at least)" if power is None else in_digits(power, ".2f")
