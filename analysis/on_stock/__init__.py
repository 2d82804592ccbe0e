"""What is asked of the casks as they lie there on a day: frames in, answers out.

The program asks here with frames from its records, a notebook with frames from files: so both give
the same answer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .barred import barred_fillings, held_against
    from .day_stock import stock_on, with_growth, with_moves
    from .developing import ageing_of_stock
    from .matching import match_stock

__all__ = [
    "ageing_of_stock",
    "barred_fillings",
    "held_against",
    "match_stock",
    "stock_on",
    "with_growth",
    "with_moves",
]

__getattr__ = names_from(
    __name__,
    {
        "ageing_of_stock": "developing",
        "barred_fillings": "barred",
        "held_against": "barred",
        "match_stock": "matching",
        "stock_on": "day_stock",
        "with_growth": "day_stock",
        "with_moves": "day_stock",
    },
)
