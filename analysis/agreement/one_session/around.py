"""What stands beside the scores of one note: the other sessions, and the glasses of this one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from ...frames import TEST_KINDS, usable
from ...score_statuses import NOT_REACHED
from .serving import Serving, serving_of, with_order


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
    """

    past: Sequence[Mapping[str, pd.DataFrame]]
    year: Mapping[str, pd.DataFrame]
    coded: bool = False
    n_hidden: int = 0


@dataclass(frozen=True)
class Tonight:
    """What is known of a session.

    Attributes
    ----------
    seen
        Test glasses that each assessor scored or left blank on anything.
    not_reached
        Lines of these glasses that the close of the session cut off, by assessor and note.
    serving
        In which order it was served.
    n_notes
        How many notes it has.
    """

    seen: Mapping[str, int]
    not_reached: Mapping[tuple[str, str], int]
    serving: Serving
    n_notes: int = 1


_GLASS = ["assessor", "sample", "replicate"]


def lines_cut_off(scores: pd.DataFrame) -> pd.DataFrame:
    """The lines of test glasses that the close of a session cut off."""
    if "status" not in scores or not (scores["status"] == NOT_REACHED).any():
        return pd.DataFrame(columns=[*_GLASS, "descriptor"])
    cut = usable(scores, keep=(NOT_REACHED,), kinds=TEST_KINDS)
    return pd.concat([cut.scores, cut.blanks])


def tonight_of(
    ordered: pd.DataFrame, blanks: pd.DataFrame, cut: pd.DataFrame, n_notes: int
) -> Tonight:
    """What is known of a session by its scores, its blank lines and the lines cut off.

    A glass of which every line was cut off was seen by nobody.
    """
    glasses = pd.concat([ordered, blanks]) if len(blanks) else ordered
    glasses = glasses.loc[glasses["kind"].isin(TEST_KINDS), _GLASS].drop_duplicates()
    own = set(glasses.itertuples(index=False, name=None))
    lines = cut[[*_GLASS, "descriptor"]].itertuples(index=False, name=None)
    return Tonight(
        seen={str(name): int(n) for name, n in glasses.groupby("assessor").size().items()},
        not_reached=Counter((str(who), str(note)) for who, *of, note in lines if (who, *of) in own),
        serving=serving_of(ordered),
        n_notes=n_notes,
    )


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
