"""A chance as people read it: in a sentence, in a table, in a picture, rounded once for all."""

from __future__ import annotations

from .digits import as_here

_LEAST, _MOST = 0.005, 0.995


def in_100(probability: float) -> str:
    """Return a chance for a sentence.

    Examples
    --------
    >>> in_100(0.9947), in_100(0.9951), in_100(0.0)
    ('99 in 100', 'above 99 in 100', 'below 1 in 100')
    """
    if probability < _LEAST:
        return "below 1 in 100"
    return "above 99 in 100" if probability > _MOST else f"{_hundredths(probability)} in 100"


def in_percent(probability: float) -> str:
    """Return a chance for a picture or a narrow column.

    Examples
    --------
    >>> in_percent(0.9947), in_percent(0.9951), in_percent(0.0)
    ('99 %', '>99 %', '<1 %')
    """
    if probability < _LEAST:
        return "<1 %"
    return ">99 %" if probability > _MOST else f"{_hundredths(probability)} %"


def chance(probability: float) -> str:
    """Return a chance for a table; never 0 or 1, which no panel can know.

    Examples
    --------
    >>> chance(0.9947), chance(0.9951), chance(0.0)
    ('.99', '>.99', '<.01')
    """
    if probability < _LEAST:
        return as_here("<.01")
    return as_here(">.99" if probability > _MOST else f".{_hundredths(probability):02d}")


def reads_the_same(one: float, other: float) -> bool:
    """Say whether two chances are one to whoever reads them.

    Examples
    --------
    >>> reads_the_same(0.9896, 0.9949), reads_the_same(0.9949, 0.9951)
    (True, False)
    """
    return chance(one) == chance(other)


def _hundredths(probability: float) -> int:
    return int(f"{probability:.2f}"[2:])
