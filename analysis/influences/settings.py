"""What an account of the influences is made with."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class InfluenceSettings:
    """Settings of the model of influences; years, points of the 0-100 line, shares.

    Attributes
    ----------
    time_constants_years
        Wood gives as ``1 - exp(-age / T)``; the T that are averaged over.
    half_lives_years
        Smoke fades as ``2^(-age / h)``; the h that are averaged over.
    half_life_guess_years, half_life_factor
        Weak prior of the half-life: log-normal about the guess, one standard deviation being
        this factor up or down. No general rate is published; the records decide.
    sd_scale
        Scale in points of the prior that keeps standard deviations off zero.
    level
        Probability that an interval is meant to cover.
    vif_limit, condition_limit
        Above either an influence cannot be separated from the others (common practice; Belsley,
        Kuh & Welsch 1980 for the condition number of 30).
    least_casks
        With fewer nosed casks nothing is told of the influences.
    least_casks_a_level
        Below this a level's estimate carries a note.
    """

    time_constants_years: tuple[float, ...] = (3.0, 5.0, 8.0, 12.0, 20.0, 40.0)
    half_lives_years: tuple[float, ...] = (5.0, 8.0, 12.0, 20.0, 35.0, 80.0)
    half_life_guess_years: float = 20.0
    half_life_factor: float = 2.0
    sd_scale: float = 15.0
    level: float = 0.95
    vif_limit: float = 5.0
    condition_limit: float = 30.0
    least_casks: int = 10
    least_casks_a_level: int = 3
