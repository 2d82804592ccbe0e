"""Time and memory of a profile of a large house, cold, after one more session, and by size.

A thousand casks on twenty descriptors in a hundred sessions of fourteen assessors, every one of
them with a scale and a noise of his own; raw means beside it. Each measurement runs in a fresh
process, so that the peak is its own; helpers' peaks are shown apart.

The plain way beside it, on one descriptor: the mixed-model equations written out densely, with
equal scales and noises, by expectation steps.

With `low`, the same house on notes that about half of the glasses lack, with scores at the ends of
the line taken at their word and read as beyond it.

With `order`, the same house on five notes with places on record, without and with terms for the
order of serving, three times in turns.

    python -m tests.bench.bench_profile_speed [house|plain|sizes|huge|low|order]
"""

from __future__ import annotations

import itertools
import resource
import subprocess
import sys
import time

import numpy as np
import pandas as pd
import scipy.sparse
import threadpoolctl

from analysis.profile import Profile, ProfileSettings, estimate_profile

PER_SESSION = 32
GROUPS = ("sample", "assessor", "session")


def house(
    n_casks: int, n_notes: int, n_sessions: int, n_assessors: int = 14, level: float = 45.0
) -> tuple[pd.DataFrame, np.ndarray]:
    """Scores, and the mean score the panel would be expected to give, (casks + 1, notes)."""
    rng = np.random.default_rng(0)
    rounds = PER_SESSION * n_sessions // n_casks + 1
    order = np.concatenate([rng.permutation(n_casks) for _ in range(rounds)])
    poured = [
        np.unique(np.append(order[t * PER_SESSION : (t + 1) * PER_SESSION], n_casks))
        for t in range(n_sessions)
    ]
    session = np.concatenate([np.full(n_assessors * len(c), t) for t, c in enumerate(poured)])
    sample = np.concatenate([np.tile(c, n_assessors) for c in poured])
    assessor = np.concatenate([np.repeat(np.arange(n_assessors), len(c)) for c in poured])
    tau = 12.0 * rng.normal(size=(n_casks + 1, n_notes))
    tau[n_casks] = 0.0
    scale = np.exp(rng.normal(0.0, 0.3, (n_assessors, n_notes)))
    scale /= scale.mean(axis=0)
    noise = 9.0 * np.exp(rng.normal(0.0, 0.35, (n_assessors, n_notes)))
    offset = rng.normal(0.0, 8.0, (n_assessors, n_notes))
    opinion = rng.normal(0.0, 4.0, (n_assessors, n_casks + 1, n_notes))
    mood = rng.normal(0.0, 4.0, (n_sessions, n_notes))
    own = rng.normal(0.0, 3.0, (n_assessors, n_sessions, n_notes))
    y = level + offset[assessor] + mood[session] + own[assessor, session]
    y += scale[assessor] * tau[sample] + opinion[assessor, sample]
    y = np.clip(np.round(y + rng.normal(size=y.shape) * noise[assessor]), 0.0, 100.0)
    glasses = pd.DataFrame(
        {
            "session": [f"S{t:03d}" for t in session],
            "assessor": [f"P{j:02d}" for j in assessor],
            "sample": [f"C{i:05d}" for i in sample],
            "kind": np.where(sample == n_casks, "reference", "test"),
            "held_on": pd.Timestamp("2015-01-01") + pd.to_timedelta(7 * session, unit="D"),
            "replicate": 1,
        }
    )
    parts = [glasses.assign(descriptor=f"note {d:02d}", score=y[:, d]) for d in range(n_notes)]
    return pd.concat(parts, ignore_index=True), level + offset.mean(axis=0) + tau + opinion.mean(0)


def placed(frame: pd.DataFrame) -> pd.DataFrame:
    """The same with an order of everybody's own in each session, and a note that tells of smoke."""
    rng = np.random.default_rng(1)
    keys = ["session", "assessor", "sample"]
    glasses = frame[keys].drop_duplicates()
    glasses = glasses.assign(position=rng.random(len(glasses)))
    glasses["position"] = glasses.groupby(keys[:2])["position"].rank()
    names = frame["descriptor"].replace("note 00", "smoke")
    return frame.merge(glasses, on=keys).assign(descriptor=names)


def megabytes(who: int) -> float:
    """Peak memory so far."""
    return resource.getrusage(who).ru_maxrss / 1024.0


def timed(
    name: str, frame: pd.DataFrame, settings: ProfileSettings, start: Profile | None = None
) -> Profile:
    """Run once and print wall seconds, processor seconds and peaks."""
    wall, own = time.perf_counter(), time.process_time()
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    found = estimate_profile(frame, settings=settings, start=start)
    wall, own = time.perf_counter() - wall, time.process_time() - own
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - children
    print(
        f"{name:34s}{len(frame):9d} scores  wall {wall:6.1f} s  cpu {own + children:6.1f} s  "
        f"peak {megabytes(resource.RUSAGE_SELF):5.0f} MB "
        f"(helper {megabytes(resource.RUSAGE_CHILDREN):.0f})",
        flush=True,
    )
    return found


def quality(found: Profile, truth: np.ndarray) -> None:
    """Print how near the truth the estimates are, raw means beside them."""
    rows = found.estimates
    at = rows["sample"].str[1:].astype(int), rows["descriptor"].str[5:].astype(int)
    off = rows["estimate"].to_numpy() - truth[at]
    raw = rows["raw_mean"].to_numpy() - truth[at]
    held = np.abs(off) < 1.959964 * rows["se"].to_numpy()
    print(
        f"  rms error {np.sqrt(np.mean(off**2)):.2f} points (raw means "
        f"{np.sqrt(np.mean(raw**2)):.2f}); 95 % bands hold {held.mean():.3f}"
    )


def plain_way(frame: pd.DataFrame) -> tuple[float, int]:
    """Seconds and rounds of the equations written out: dense, by expectation steps."""
    start = time.perf_counter()
    y = frame["score"].to_numpy()
    codes = [pd.factorize(frame[name])[0] for name in GROUPS]
    codes.append(np.unique(codes[1] * 10_000 + codes[2], return_inverse=True)[1])
    sizes = [int(code.max()) + 1 for code in codes]
    edges = np.cumsum([0, *sizes])
    columns = np.concatenate([c + e for c, e in zip(codes, edges[:-1], strict=True)])
    rows = np.tile(np.arange(len(y)), len(codes))
    z = scipy.sparse.csr_matrix((np.ones(len(rows)), (rows, columns)))
    z = scipy.sparse.hstack([z, np.ones((len(y), 1))]).tocsr()
    gram, right = (z.T @ z).toarray(), z.T @ y
    variances, noise = np.full(len(codes), 0.2 * y.var()), 0.5 * y.var()
    rounds = 0
    for _ in range(200):
        rounds += 1
        penalty = np.append(np.repeat(noise / variances, sizes), 0.0)
        inverse = np.linalg.inv(gram + np.diag(penalty))
        effects = inverse @ right
        before = np.append(variances, noise)
        shares = [slice(a, b) for a, b in itertools.pairwise(edges)]
        variances = np.array(
            [
                (effects[at] @ effects[at] + noise * np.trace(inverse[at, at])) / size
                for at, size in zip(shares, sizes, strict=True)
            ]
        )
        noise = float(y @ y - effects @ right) / (len(y) - 1)
        if np.max(np.abs(np.log(np.append(variances, noise) / before))) < 1e-3:
            break
    return time.perf_counter() - start, rounds


def measure(what: str) -> None:
    """One measurement."""
    if what == "house":
        frame, truth = house(1000, 20, 100)
        before = time.perf_counter()
        frame.groupby(["sample", "descriptor"])["score"].mean()
        print(
            f"{'raw means':34s}{len(frame):9d} scores  wall {time.perf_counter() - before:6.1f} s"
        )
        quality(timed("cold", frame, ProfileSettings()), truth)
        last = frame["session"] == frame["session"].max()
        earlier = estimate_profile(frame[~last])
        timed("after one more session", frame, ProfileSettings(), earlier)
    elif what == "alone":
        frame, _ = house(1000, 20, 100)
        timed("cold, one process", frame, ProfileSettings(processes=1))
    elif what == "low":
        frame, _ = house(1000, 20, 100, level=-2.0)
        for name, ends in (("at their word", False), ("as beyond the line", True)):
            timed(f"low notes, {name}", frame, ProfileSettings(processes=1, ends_of_the_line=ends))
    elif what == "order":
        frame = placed(house(1000, 5, 100)[0])
        for _ in range(3):
            for name, order in (("not looked at", False), ("as terms", True)):
                timed(f"order {name}", frame, ProfileSettings(processes=1, order=order))
    elif what == "plain":
        frame, _ = house(1000, 1, 100)
        start = time.perf_counter()
        estimate_profile(frame, settings=ProfileSettings(processes=1))
        ours = time.perf_counter() - start
        with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
            plain, rounds = plain_way(frame)
        print(
            f"one descriptor, {len(frame)} scores: ours {ours:.2f} s, the equations written out "
            f"{plain:.1f} s in {rounds} rounds, {plain / ours:.0f} times as long"
        )
    elif what == "huge":
        frame, truth = house(5000, 2, 300)
        quality(timed("5,000 casks, 300 sessions, 2 notes", frame, ProfileSettings()), truth)
    else:
        n = int(what)
        frame, _ = house(200, 4, n)
        timed(f"200 casks, {n} sessions, 4 notes", frame, ProfileSettings(processes=1))


def main() -> None:
    """Run each measurement in a process of its own."""
    wanted = sys.argv[1] if len(sys.argv) > 1 else "house"
    if wanted == "one":
        measure(sys.argv[2])
        return
    sets = {
        "house": ["house", "alone"],
        "plain": ["plain"],
        "sizes": ["25", "50", "100", "200"],
        "huge": ["huge"],
        "low": ["low"],
        "order": ["order"],
    }
    for what in sets[wanted]:
        subprocess.run(
            [sys.executable, "-m", "tests.bench.bench_profile_speed", "one", what], check=True
        )


if __name__ == "__main__":
    main()
