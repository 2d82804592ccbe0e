"""Figures as people read them and write them, alike wherever they stand."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from math import isfinite

from analysis.counted import count, measured, plural
from analysis.digits import (
    PERHAPS_THOUSANDS,
    Hand,
    as_here,
    hand,
    in_digits,
    own_hand,
    sentence_here,
    take_hand,
    writes_commas,
)

__all__ = [
    "COMMA",
    "PERHAPS_THOUSANDS",
    "PURE_ABV",
    "Hand",
    "MeansTwo",
    "as_here",
    "count",
    "hand",
    "in_digits",
    "litre_words",
    "measured",
    "own_hand",
    "plural",
    "sentence_here",
    "take_hand",
    "tenths",
    "typed_number",
    "with_comma",
    "writes_commas",
]

COMMA = re.compile(r"[+-]?[0-9]*,[0-9]+")
TENTH = Decimal("0.1")
PURE_ABV = 100.0
"""No strength is above this, % vol."""


def tenths(number: float) -> str:
    """Return a number with one decimal; a half goes up, as on paper: 6.35 is 6.4.

    What is rounded is the number as it is written, not the binary one just beside it.
    """
    return as_here(str(Decimal(repr(float(number))).quantize(TENTH, ROUND_HALF_UP)))


def litre_words(litres: float) -> str:
    """Return litres as they are on record, to the millilitre, without noughts behind.

    Examples
    --------
    >>> litre_words(190.0), litre_words(171.25), litre_words(12450.5)
    ('190 L', '171.25 L', '12,450.5 L')
    """
    return f"{as_here(f'{litres:,.3f}'.rstrip('0').rstrip('.'))} L"


class MeansTwo(ValueError):
    """A number that can be read in two ways; it says both."""


def typed_number(text: str) -> float:
    """Return the number that somebody typed, with a point or with one comma: 63.5 and 63,5.

    Raises
    ------
    MeansTwo
        Its comma might stand for thousands as well, or its point in a house that writes them so.
    ValueError
        It is no number.
    """
    text = text.strip()
    if PERHAPS_THOUSANDS.fullmatch(text) and ("," in text or writes_commas()):
        whole, pointed = re.sub("[.,]", "", text), as_here(text.replace(",", "."))
        raise MeansTwo(f"{text} could be {whole} or {pointed}: write the one that is meant")
    if COMMA.fullmatch(text):
        return float(text.replace(",", "."))
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if not isfinite(number):
        raise ValueError(f"{text!r} is not a number such as 12.5")
    return number


def with_comma(text: str) -> str:
    """Return a number's text with a comma for its point, such that it can mean only that."""
    if "e" in text:
        return text
    written = text.replace(".", ",")
    return f"{written}0" if PERHAPS_THOUSANDS.fullmatch(written) else written
