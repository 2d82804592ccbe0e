"""Half of a real panel predicts the other half: all estimators side by side.

reshape2::french_fries, 30 samples as one session. Each estimator sees half of the assessors and
60 % of their glasses; what it says is correlated with the means of the other half, centred by
assessor, and averaged over the five notes and the splits.

    python -m tests.bench.bench_profile_half_panel [SPLITS]
"""

from __future__ import annotations

import sys

import numpy as np
import pandas as pd

from analysis.profile import ProfileSettings, estimate_profile
from tests.outside.real_panels import french_fries

RAW = ("raw means", "centred")
EQUAL = ProfileSettings(equal_scale=True, equal_noise=True, degrees=None, joint=False)
SETTINGS = {
    "equal scales and noises": EQUAL,
    "one note at a time": ProfileSettings(joint=False),
    "notes together, at their word": ProfileSettings(ends_of_the_line=False),
    "notes together": ProfileSettings(),
}


def centred(frame: pd.DataFrame) -> pd.Series:
    """Mean of each sample and note, assessors' levels taken out."""
    mean = frame.groupby(["assessor", "descriptor"])["score"].transform("mean")
    above = frame.assign(score=frame["score"] - mean)
    return above.groupby(["descriptor", "sample"])["score"].mean()


def correlation(said: pd.Series, wanted: pd.Series) -> float:
    """Mean over the notes; a note on which nothing is said counts as nought."""
    both = pd.DataFrame({"said": said, "wanted": wanted}).dropna()
    each = [
        np.corrcoef(part["said"], part["wanted"])[0, 1] if part["said"].std() > 1e-9 else 0.0
        for _, part in both.groupby(level="descriptor")
    ]
    return float(np.mean(each))


def split(frame: pd.DataFrame, seed: int) -> dict[str, float]:
    """One split, every estimator."""
    rng = np.random.default_rng(seed)
    people = np.array(sorted(frame["assessor"].unique(), key=int))
    half = set(rng.permutation(people)[: len(people) // 2])
    seen, other = frame[frame["assessor"].isin(half)], frame[~frame["assessor"].isin(half)]
    glass = ["assessor", "sample", "replicate"]
    glasses = seen[glass].drop_duplicates()
    kept = glasses[rng.random(len(glasses)) < 0.6]
    seen = seen.merge(kept, on=glass)
    wanted = centred(other)
    raw = seen.groupby(["descriptor", "sample"])["score"].mean()
    found = {"raw means": correlation(raw, wanted), "centred": correlation(centred(seen), wanted)}
    for name, settings in SETTINGS.items():
        rows = estimate_profile(seen, settings=settings).estimates
        said = rows.set_index(["descriptor", "sample"])["estimate"]
        found[name] = correlation(said, wanted)
    return found


def main() -> None:
    """Print the mean of each estimator with its standard error over splits."""
    splits = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    frame = french_fries().assign(scale_high=15.0)
    found = pd.DataFrame([split(frame, seed) for seed in range(splits)])
    print(f"{splits} splits")
    for name in (*RAW, *SETTINGS):
        values = found[name].to_numpy(dtype=float)
        error = np.std(values, ddof=1) / np.sqrt(splits)
        print(f"{name:30s}{np.mean(values):.3f} ({error:.3f})")


if __name__ == "__main__":
    main()
