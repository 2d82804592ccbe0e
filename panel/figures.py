"""Figures as people read them and write them, alike wherever they stand."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from math import isfinite

COMMA = re.compile(r"[+-]?[0-9]*,[0-9]+")
PERHAPS_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}")
TENTH = Decimal("0.1")


def tenths(number: float) -> str:
    """Return a number with one decimal; a half goes up, as on paper: 6.35 is 6.4.

    What is rounded is the number as it is written, not the binary one just beside it.
    """
    return str(Decimal(repr(float(number))).quantize(TENTH, ROUND_HALF_UP))


def litre_words(litres: float) -> str:
    """Return litres as they are on record, to the millilitre, without noughts behind.

    Examples
    --------
    >>> litre_words(190.0), litre_words(171.25), litre_words(12450.5)
    ('190 L', '171.25 L', '12,450.5 L')
    """
    return f"{f'{litres:,.3f}'.rstrip('0').rstrip('.')} L"


def typed_number(text: str) -> float:
    """Return the number that somebody typed, with a point or with one comma: 63.5 and 63,5.

    Raises
    ------
    ValueError
        It is no number, or one with a comma that might stand for thousands as well; with what
        would be right.
    """
    text = text.strip()
    if COMMA.fullmatch(text):
        pointed = text.replace(",", ".")
        if PERHAPS_THOUSANDS.fullmatch(text):
            whole = text.replace(",", "")
            raise ValueError(f"{text} could be {whole} or {pointed}: write the one that is meant")
        return float(pointed)
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
