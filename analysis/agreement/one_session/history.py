"""One evening beside the sessions before it, all of them in the one model."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

import pandas as pd

from ...frames import usable
from ..sessions.one_model import own_codes, read_model
from ..sessions.over_sessions import NoteOverSessions
from ..settings import AgreementSettings


@dataclass(frozen=True)
class History:
    """What the one model says to date; empty for a house's first session.

    Attributes
    ----------
    house
        Over all sessions, the evening among them, of the people of this evening.
    lately
        Over the evening and the last few before it: what is said of a person is said of how
        they read now.
    """

    house: Mapping[str, NoteOverSessions] = field(default_factory=dict)
    lately: Mapping[str, NoteOverSessions] = field(default_factory=dict)


@dataclass(frozen=True)
class Wanted:
    """What to fit beside an evening.

    Attributes
    ----------
    lately
        Names of the last few sessions before it.
    wrong_way_round
        Assessor and descriptor wherever this evening's glasses are: likely a swap, so these
        scores are no part of how somebody usually reads.
    coded
        The samples of the evening are codes still, which no other session shares.
    """

    lately: Sequence[str]
    wrong_way_round: Collection[tuple[str, str]]
    coded: bool


def history_of(
    tonight: pd.DataFrame,
    earlier: pd.DataFrame,
    wanted: Wanted,
    settings: AgreementSettings,
    seed: int,
) -> History:
    """Fit the one model to all sessions, and to the evening with the last few before it."""
    before = earlier[earlier["descriptor"].isin(set(tonight["descriptor"]))]
    if before.empty:
        return History()
    session = [str(tonight["session"].iloc[0])]
    rows = own_codes(
        pd.concat([tonight, before], ignore_index=True), session if wanted.coded else []
    )
    people = sorted(set(tonight["assessor"]))
    house = read_model(rows, settings=settings, panel=people, seed=seed)
    recent = rows[
        rows["session"].isin([*session, *wanted.lately]) & ~_swapped(rows, session, wanted)
    ]
    if len(recent) == len(rows):
        return History(house, house)
    return History(house, read_model(recent, settings=settings, panel=people, seed=seed))


def _swapped(rows: pd.DataFrame, session: Sequence[str], wanted: Wanted) -> pd.Series[bool]:
    found = pd.Series(False, index=rows.index)
    for assessor, descriptor in wanted.wrong_way_round:
        found |= (rows["assessor"] == assessor) & (rows["descriptor"] == descriptor)
    return found & rows["session"].isin(session)


def earlier_scores(recent: pd.DataFrame | None, session: str) -> pd.DataFrame:
    """What can be used of the other sessions."""
    if recent is None or recent.empty:
        return pd.DataFrame({"session": []})
    scores = usable(recent).scores
    return scores[scores["session"] != session]


def last_sessions(earlier: pd.DataFrame, n: int) -> list[str]:
    """The last sessions before this one, newest first."""
    if earlier.empty:
        return []
    dates = earlier.groupby("session")["held_on"].max().reset_index()
    dates = dates.sort_values(["held_on", "session"], ascending=False, na_position="last")
    return [str(name) for name in dates["session"]][:n]
