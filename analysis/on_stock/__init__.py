"""What is asked of the casks as they lie there on a day: frames in, answers out.

The program asks here with frames from its records, a notebook with frames from files: so both give
the same answer.
"""

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
