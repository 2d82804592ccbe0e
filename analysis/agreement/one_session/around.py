"""What stands beside the scores of one note: the other sessions, and the glasses of this one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import pandas as pd

from .serving import Serving, with_order


@dataclass(frozen=True)
class Beside:
    """What stands beside the scores of a session.

    Attributes
    ----------
    past
        Scores of each recent session by descriptor.
    year
        Scores of all earlier ones, for what glasses nosed again told of the order.
    coded
        The session is not revealed: none of its samples is one of an earlier session.
    n_hidden
        Blind duplicates that were poured and that only the reveal tells.
    not_reached
        Lines of test glasses that the close of the session cut off, by assessor and note.
    """

    past: Sequence[Mapping[str, pd.DataFrame]]
    year: Mapping[str, pd.DataFrame]
    coded: bool = False
    n_hidden: int = 0
    not_reached: Mapping[tuple[str, str], int] = field(default_factory=dict)


@dataclass(frozen=True)
class Tonight:
    """What is known of a session: how many glasses each assessor had, their order, its notes."""

    poured: Mapping[str, int]
    serving: Serving
    n_notes: int = 1


def beside_of(
    earlier: pd.DataFrame, lately: Sequence[str], *, coded: bool, n_hidden: int
) -> Beside:
    """The sessions before this one by descriptor: the last few each, and all of them."""
    if not lately:
        return Beside([], {}, coded, n_hidden)
    ordered = with_order(earlier)
    each = [by_descriptor(ordered[ordered["session"] == name]) for name in lately]
    return Beside(each, by_descriptor(ordered), coded, n_hidden)


def by_descriptor(scores: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """The rows of each note."""
    return {str(name): rows for name, rows in scores.groupby("descriptor", sort=False)}
