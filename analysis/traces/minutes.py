"""What one assessor said of one glass over a minute, out of the frame of answers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .parameters import POINTS_A_STEP, counts

if TYPE_CHECKING:
    import pandas as pd

KEPT = "kept"
TOO_FEW = "with too few prompts answered"
UNANSWERED = "not answered"


@dataclass(frozen=True)
class Minute:
    """What one assessor said of one glass: seconds after the sip, and points 0 to 100."""

    assessor: str
    sample: str
    seconds: Sequence[float]
    points: Sequence[float]


def minutes_of(answers: pd.DataFrame) -> tuple[list[Minute], dict[str, int]]:
    """Return the glasses that count, and how many others there are by why."""
    left_out: Counter[str] = Counter()
    minutes: list[Minute] = []
    for (who, _), one in answers.groupby(["assessor", "glass"], sort=True):
        odd = [status for status in one["status"] if status != KEPT]
        told = one[one["at_s"].notna() & one["given"].notna()]
        seconds = [float(at) for at in told["at_s"]]
        if odd:
            left_out[str(odd[0]).replace("_", " ")] += 1
        elif not counts(seconds):
            left_out[TOO_FEW if seconds else UNANSWERED] += 1
        else:
            points = [float(key) * POINTS_A_STEP for key in told["given"]]
            minutes.append(Minute(str(who), str(one["sample"].iloc[0]), seconds, points))
    return minutes, dict(left_out)
