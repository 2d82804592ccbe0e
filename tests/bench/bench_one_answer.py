"""One answer from any start, on the large house: how far fits end from each other.

    python -m tests.bench.bench_one_answer [DEALT]

Fits the notes of :mod:`tests.bench.large_house` from nothing, from a fit without the last session,
and ten times finer; tells rounds, processor seconds and, of each note, the furthest that an
estimate lies off in its own standard errors and a standard error in its own size, in per cent.
"""

from __future__ import annotations

import sys
import time
from unittest.mock import patch

import pandas as pd

from analysis.profile import Profile, ProfileSettings, begin, estimate_profile
from analysis.profile.fit import TOLERANCE_CHEAP
from tests.bench.large_house import LargeHouse

FINER = 0.1


def fitted(what: str, scores: pd.DataFrame, start: Profile | None = None) -> Profile:
    """Fit all notes in one process and say what it took."""
    began = time.process_time()
    found = estimate_profile(scores, settings=ProfileSettings(processes=1), start=start)
    rounds = sum(fit.rounds for fit in found.fits)
    print(f"{what:28s}{rounds:5d} rounds {time.process_time() - began:6.1f} s of processor")
    return found


def apart(found: Profile, wanted: Profile) -> pd.DataFrame:
    """How far two fits lie apart, a row a note."""
    both: pd.DataFrame = found.estimates.merge(wanted.estimates, on=["sample", "descriptor"])
    off = (both["estimate_x"] - both["estimate_y"]).abs() / both["se_y"]
    size = 100.0 * (both["se_x"] / both["se_y"] - 1.0).abs()
    return both.assign(off=off, size=size).groupby("descriptor")[["off", "size"]].max()


def show(what: str, found: pd.DataFrame) -> None:
    """Print a table."""
    print(what, found.to_string(float_format="{:.4f}".format), sep="\n")


def main(dealt: float) -> None:
    """Fit and compare."""
    scores = LargeHouse(dealt=dealt).frame()
    last = sorted(scores["session"].unique())[-1]
    cold = fitted("from nothing", scores)
    earlier = fitted("without the last session", scores[scores["session"] != last])
    warm = fitted("from that one", scores, earlier)
    with patch.object(begin, "TOLERANCE_CHEAP", FINER * TOLERANCE_CHEAP):
        fine = fitted("ten times finer", scores)
    show("from that one, against from nothing", apart(warm, cold))
    show("from nothing, against the finer", apart(cold, fine))


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 0.0)
