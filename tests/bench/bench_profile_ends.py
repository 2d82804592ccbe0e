"""Notes that most glasses lack: what bands, estimates and match are worth, before and after.

Each world of :mod:`tests.bench.low_worlds` is fitted with its scores at the ends of the line taken
at their word (before) and read as no more than beyond it (after). By note: how often 90 % bands
hold the mean score the panel would be expected to give, by thirds of the samples from the least
to the most of it; the root mean squared error; how far the five samples chosen fall short of the
best five; processor seconds. Then what `match` says of targets on these notes beside how often it
was right.

    python -m tests.bench.bench_profile_ends [WORLDS_A_KIND] [FIRST_SEED] [SLIPS]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator

import numpy as np
import pandas as pd
import threadpoolctl

from analysis.profile import Profile, ProfileSettings, estimate_profile
from analysis.target import Target, TargetLine, match_casks
from tests.bench.low_worlds import LEVELS, LOW_NOTES, Kind, World

LEVEL = 0.9
THIRDS = ("third 1", "third 2", "third 3")
BEST = 5
TARGETS, TOLERANCE = 4, 6.0
_SAID = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)


def before_and_after(world: World) -> Iterator[tuple[str, Profile, float]]:
    """The profile by either reading, and its processor seconds."""
    for name, ends in (("before", False), ("after", True)):
        start = time.process_time()
        settings = ProfileSettings(ends_of_the_line=ends, processes=1)
        yield name, estimate_profile(world.scores, settings=settings), time.process_time() - start


def measured(world: World, profile: Profile) -> pd.DataFrame:
    """One row a note."""
    bands = profile.bands(LEVEL)
    rows = profile.estimates.merge(bands, on=["sample", "descriptor"], suffixes=("_95", ""))
    rows = rows[rows["kind"] == "test"]
    found = [
        {"note": note, **_of_note(world, profile, note, rows[rows["descriptor"] == note])}
        for note in LEVELS
    ]
    return pd.DataFrame(found)


def _of_note(world: World, profile: Profile, note: str, rows: pd.DataFrame) -> dict[str, object]:
    rows = rows.sort_values("sample")
    truth = world.truth[note][rows["sample"].str[1:].astype(int)]
    estimate = rows["estimate"].to_numpy(float)
    held = (rows["low"] <= truth + 1e-9) & (truth <= rows["high"] + 1e-9)
    third = np.argsort(np.argsort(truth)) * 3 // len(truth)
    fit = profile.fit(note)
    score = world.scores.loc[world.scores["descriptor"] == note, "score"]
    return {
        **{name: float(held[third == k].mean()) for k, name in enumerate(THIRDS)},
        "squared": float(np.mean((estimate - truth) ** 2)),
        "regret": float(np.sort(truth)[-BEST:].mean() - truth[np.argsort(-estimate)[:BEST]].mean()),
        "width": float((rows["high"] - rows["low"]).mean()),
        "zeros": float((score == 0.0).mean()),
        "reading": str(fit.reading),
        "fell back": fit.reading_reason is not None or fit.reason is not None,
        "rounds": fit.rounds,
    }


def matched(world: World, profile: Profile) -> Iterator[tuple[float, bool]]:
    """What is said of each cask against some targets, and whether it is so."""
    rng = np.random.default_rng(world.seed)
    for _ in range(TARGETS):
        like = int(rng.integers(1, world.samples))
        lines = tuple(
            TargetLine(note, float(np.clip(world.truth[note][like], 0.0, 100.0)), TOLERANCE)
            for note in rng.permutation(LOW_NOTES)[: rng.integers(1, 4)]
        )
        for cask in match_casks(profile, Target("like", lines), draws=10).casks:
            i = int(cask.cask[1:])
            off = [abs(world.truth[line.descriptor][i] - line.aim) for line in lines]
            yield cask.probability, max(off) <= TOLERANCE


def main() -> None:
    """Print the tables."""
    worlds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 9000
    slips = float(sys.argv[3]) if len(sys.argv) > 3 else 0.0
    parts, said, seconds = [], [], []
    for kind in Kind:
        for seed in range(first, first + worlds):
            world = World(seed, kind, slips)
            for name, profile, spent in before_and_after(world):
                parts.append(measured(world, profile).assign(way=name, kind=kind.value))
                said += [(name, kind.value, *one) for one in matched(world, profile)]
                seconds.append((name, spent))
    print(f"{worlds} worlds a kind from seed {first}, {100 * slips:g} % of the scores at random")
    _print_notes(pd.concat(parts, ignore_index=True))
    _print_match(pd.DataFrame(said, columns=["way", "kind", "said", "so"]))
    for way in ("before", "after"):
        each = [one for name, one in seconds if name == way]
        print(f"processor seconds a world, {way}: {sum(each) / len(each):.3f}")


def _print_notes(found: pd.DataFrame) -> None:
    print(
        "\nnote    kind        way    zeros  90 % bands by third   width   rmse regret  fell back"
    )
    wide = pd.concat([found, found[found["kind"] != Kind.TAILS.value].assign(kind="first three")])
    for note in LEVELS:
        for kind in (*[kind.value for kind in Kind], "first three"):
            for way in ("before", "after"):
                some = wide[(wide["note"] == note) & (wide["kind"] == kind) & (wide["way"] == way)]
                held = "   ".join(f"{some[name].mean():.2f}" for name in THIRDS)
                print(
                    f"{note:8s}{kind:12s}{way:7s}{some['zeros'].mean():.2f}    {held}    "
                    f"{some['width'].mean():6.2f} {np.sqrt(some['squared'].mean()):6.2f} "
                    f"{some['regret'].mean():6.2f}    {int(some['fell back'].sum())} of {len(some)}"
                )


def _print_match(said: pd.DataFrame) -> None:
    print("\nmatch   said, and how often it was so")
    for way, rows in said.groupby("way", sort=False):
        groups = rows.groupby(pd.cut(rows["said"], _SAID, include_lowest=True), observed=True)
        each = "  ".join(f"{p['said'].mean():.2f}/{p['so'].mean():.2f}" for _, p in groups)
        print(f"{way:8s}{rows['said'].mean():.3f}/{rows['so'].mean():.3f}   {each}")


if __name__ == "__main__":
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        main()
