"""Counted nouns: a word in the number it needs, with its number or without it.

Standard library only.
"""

from __future__ import annotations

from .digits import in_digits


def plural(word: str, number: float, many: str | None = None) -> str:
    """A word in the number it needs; `many` where that takes more than an s."""
    return word if number == 1 else many or f"{word}s"


def count(number: int, word: str, many: str | None = None) -> str:
    """A number with its word.

    Examples
    --------
    >>> count(1, "cask"), count(0, "cask"), count(1200, "bottle")
    ('1 cask', '0 casks', '1,200 bottles')
    """
    return f"{in_digits(number, ',')} {plural(word, number, many)}"


def measured(value: float, word: str, many: str | None = None) -> str:
    """A measure, with as many decimals as it has, and its word.

    Examples
    --------
    >>> measured(1.0, "point"), measured(2.5, "point"), measured(10.0, "point")
    ('1 point', '2.5 points', '10 points')
    """
    return f"{in_digits(value, 'g')} {plural(word, value, many)}"
