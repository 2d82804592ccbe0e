"""The house's thresholds for a panel, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class AgreementSettings:
    """Thresholds of the verdicts. House defaults, none of them from a standard.

    Attributes
    ----------
    tolerance
        Points on the 0-100 line within which a blender calls two casks alike. Nobody is
        judged by samples that lie closer together than that.
    safe_reliability, safe_low, second_look_reliability
        Reliability from which the means may be used, its lower 80 % bound, and from which
        they may be used with a second look.
    false_share
        Share of false alarms accepted among the descriptors that are called different
        (Benjamini & Hochberg 1995).
    least_samples, least_duplicates
        Fewer than these say too little of a panel; duplicates pool over recent sessions.
    small_panel
        Below this many assessors the small panel's verdict is given: one odd nose would
        decide.
    power_multiple
        1.96 + 0.84: a difference of so many standard errors is seen four times in five.
    zero_share
        From this share of zeros on, a normal distribution is no description of the scores.
    permutations, bootstraps
        Rearrangements of the codes and redrawn panels.
    flag_probability
        How sure it must be before a sentence is said of a person.
    with_panel_correlation, with_panel_p
        Somebody reads with the panel from this mean correlation with the others on, if the
        same glasses in any order would hardly have given it (of four glasses, the right order
        alone: once in 24).
    habit_multiple, habit_p
        A line so many times as wide or as narrow as that of the others is spoken of if chance
        would hardly have made it; so are nosings `unsteady_multiple` times as far apart.
    coarse_multiple
        A panel that misses differences of so many tolerances is not to be acted on.
    unsteady_multiple, unsteady_probability
        Unsteady is a repeat sd so many times the usual one, at this probability.
    least_signal_share, with_panel_probability
        Over sessions somebody reads with the panel whose signal share is surely, at this
        probability, more than that: a quarter of the variance is a correlation of a half.
    recent_sessions
        How many sessions back repeats are pooled and assessors are judged by.
    ought_to_be_absent
        Descriptors that are there to be missed: a fault that no cask has is a good answer.
    """

    tolerance: float = 10.0
    safe_reliability: float = 0.8
    safe_low: float = 0.65
    second_look_reliability: float = 0.6
    false_share: float = 0.05
    least_samples: int = 6
    least_duplicates: int = 2
    small_panel: int = 5
    power_multiple: float = 2.8
    zero_share: float = 0.4
    permutations: int = 999
    bootstraps: int = 999
    flag_probability: float = 0.8
    with_panel_correlation: float = 0.35
    with_panel_p: float = 0.042
    habit_multiple: float = 1.2
    habit_p: float = 0.045
    coarse_multiple: float = 2.0
    unsteady_multiple: float = 1.5
    unsteady_probability: float = 0.9
    least_signal_share: float = 0.25
    with_panel_probability: float = 0.9
    recent_sessions: int = 5
    ought_to_be_absent: frozenset[str] = frozenset()
