"""A share of so many, with its exact interval."""

from __future__ import annotations

from dataclasses import dataclass

LEVEL = 0.95


@dataclass(frozen=True)
class Share:
    """`hits` of `of`, with the exact interval; without any of them there is no share.

    Attributes
    ----------
    share, low, high
        From 0 to 1; None where `of` is 0, and `reason` says so.
    """

    hits: int
    of: int
    share: float | None
    low: float | None
    high: float | None
    reason: str | None = None


def exact_interval(hits: int, of: int, level: float = LEVEL) -> tuple[float, float]:
    """Exact two-sided interval of a share (Clopper and Pearson 1934, Biometrika 26:404-413).

    Each end is the share at which so many hits, or more, or fewer, would come with a chance of half
    of what the level leaves: the interval covers at least as often as it says.

    Raises
    ------
    ValueError
        There are more hits than tries, or no tries.

    Examples
    --------
    >>> low, high = exact_interval(5, 6)
    >>> round(low, 3), round(high, 3)
    (0.359, 0.996)
    """
    from scipy.special import betaincinv

    if not 0 <= hits <= of or of < 1:
        raise ValueError(f"{hits} of {of}: hits lie between 0 and the tries, of which one at least")
    tail = (1.0 - level) / 2.0
    low = 0.0 if hits == 0 else float(betaincinv(hits, of - hits + 1, tail))
    high = 1.0 if hits == of else float(betaincinv(hits + 1, of - hits, 1.0 - tail))
    return low, high


def share_of(hits: int, of: int, level: float = LEVEL) -> Share:
    """Return a share with its interval; a reason in its place where there was nothing to try.

    Examples
    --------
    >>> share_of(0, 0).reason
    'none were poured'
    """
    if of < 1:
        return Share(0, 0, None, None, None, "none were poured")
    low, high = exact_interval(hits, of, level)
    return Share(hits, of, hits / of, low, high)
