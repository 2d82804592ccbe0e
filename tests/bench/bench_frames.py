"""Processor time and memory of a large scores frame on its way to a fit, beside the plain way.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_frames [casks notes sessions]

Two frames: one with the columns a notebook has, names shared between rows; one with every column
of the contract, a text of its own in each row as a database hands them over, and with glasses
that are left out. The least of three runs; the peak of each way in a process of its own.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import numpy as np
import pandas as pd

from analysis.frames import USED, on_house_scale, usable
from analysis.profile.table import about_samples, tabulate
from tests.analysis.plain_frames import (
    plain_about,
    plain_house_scale,
    plain_table,
    plain_usable,
)
from tests.bench.bench_profile_speed import house

Found = TypeVar("Found")
KEEP = USED
GLASSES = ("test", "trial", "market", "reference")


class Clock:
    """Processor seconds of each step, the least of the runs."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    def __call__(self, step: str, work: Callable[[], Found]) -> Found:
        """Do a step and keep its time."""
        begun = time.process_time()
        found = work()
        took = time.process_time() - begun
        self.seconds[step] = min(took, self.seconds.get(step, took))
        return found


def everything(frame: pd.DataFrame) -> pd.DataFrame:
    """The same scores with every column of the contract."""
    poured = frame["kind"] == "test"
    number = frame["sample"].str[1:].astype(int)
    frame = frame.assign(
        cask=("SW" + frame["sample"].str[1:]).where(poured),
        draw=frame["sample"] + "/d",
        drawn_on=frame.groupby("sample")["held_on"].transform("min"),
        age_years=10.0 + number % 10,
        position=np.arange(len(frame)) % 8 + 1,
        status=np.where(np.arange(len(frame)) % 1000 == 5, "void", "kept"),
        score=frame["score"].where(np.arange(len(frame)) % 1000 != 7),
        **{"flight": 1, "descriptor_version": 1, "scale_low": 0.0, "scale_high": 100.0},
    )
    frame["filling"], frame["batch"] = frame["cask"] + "/1", None
    for name in frame.columns[frame.dtypes == "str"]:
        frame[name] = [
            text[:1] + text[1:] if isinstance(text, str) else None for text in frame[name]
        ]
    return frame


def quick(frame: pd.DataFrame, step: Clock) -> None:
    """As it is done."""
    used = step("usable", lambda: usable(frame, keep=KEEP, kinds=GLASSES))
    step("about_samples", lambda: about_samples(used.scores, used.codes))
    scaled = step("on_house_scale", lambda: on_house_scale(used.scores))
    step("tabulate", lambda: tabulate(scaled, used.codes))


def plain(frame: pd.DataFrame, step: Clock) -> None:
    """Row by row."""
    scores = step("usable", lambda: plain_usable(frame, KEEP, GLASSES))[0]
    step("about_samples", lambda: plain_about(scores))
    scaled = step("on_house_scale", lambda: plain_house_scale(scores))
    step("tabulate", lambda: plain_table(scaled))


WAYS = {"plain": plain, "quick": quick}
FRAMES: dict[str, Callable[[pd.DataFrame], pd.DataFrame]] = {
    "few columns": lambda frame: frame,
    "all columns": everything,
}


def megabytes() -> float:
    """Peak memory so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def peak(file: str, way: str) -> None:
    """Print by how much one way lifts the peak."""
    frame = pd.read_pickle(file)
    before = megabytes()
    WAYS[way](frame, Clock())
    print(f"  {way} way lifts the peak by {megabytes() - before:.0f} MB", flush=True)


def times(file: str, which: str, *size: str) -> None:
    """Print seconds of each step, both ways in turn, and how many times quicker."""
    frame = FRAMES[which](house(*[int(n) for n in size])[0])
    frame.to_pickle(file)
    clocks = {name: Clock() for name in WAYS}
    for _ in range(3):
        for name, way in WAYS.items():
            way(frame, clocks[name])
    slow, fast = clocks["plain"].seconds, clocks["quick"].seconds
    slow["all"], fast["all"] = sum(slow.values()), sum(fast.values())
    print(f"{which}: {len(frame)} scores{'':8s}plain    quick  ratio")
    for step, seconds in slow.items():
        print(f"  {step:26s}{seconds:8.3f} {fast[step]:8.3f} {seconds / fast[step]:6.1f}")


def main() -> None:
    """Each measurement in a process of its own, started from a small one."""
    if sys.argv[1:2] == ["times"]:
        times(*sys.argv[2:])
        return
    if sys.argv[1:2] == ["peak"]:
        peak(*sys.argv[2:])
        return
    own = [sys.executable, "-m", "tests.bench.bench_frames"]
    with tempfile.TemporaryDirectory() as folder:
        file = str(Path(folder) / "frame.pickle")
        for which in FRAMES:
            size = sys.argv[1:] or ["1000", "20", "100"]
            subprocess.run([*own, "times", file, which, *size], check=True)
            for way in WAYS:
                subprocess.run([*own, "peak", file, way], check=True)


if __name__ == "__main__":
    main()
