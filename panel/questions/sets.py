"""What sessions in sets found: two products told apart, or several ranked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from analysis.as_json import keys_of

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.difference import Difference
    from analysis.ranking import Ranking
    from panel.store.sessions import PanelSession


@dataclass(frozen=True)
class DifferenceFound:
    """Two products, as a revealed session tells them apart. Nothing in it is private."""

    result: Difference

    json_keys = (("result", "**"),)
    json_sometimes = ()

    def to_dict(self, *, private: bool = False) -> dict[str, Any]:
        """Return plain values."""
        return keys_of(self)


@dataclass(frozen=True)
class RankingFound:
    """Products in the order that a revealed session gives them. Nothing in it is private."""

    result: Ranking

    json_keys = (("result", "**"),)
    json_sometimes = ()

    def to_dict(self, *, private: bool = False) -> dict[str, Any]:
        """Return plain values."""
        return keys_of(self)


def difference_found(db: Session, name: str) -> DifferenceFound:
    """Return whether the two products of a session are different, alike, or neither yet.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or not revealed yet: which answers are right is told by the key.
    """
    from analysis.difference import assess_difference
    from panel.frames.sets import finding_of, products_of, sets_frame, sets_session
    from panel.session.sets_power import asked_of

    session = sets_session(db, name)
    first, second = products_of(db, session)
    asked = asked_of(session.kind, finding_of(db, session))
    sets = answered_sets(sets_frame(db, name), first)
    return DifferenceFound(
        assess_difference(sets, asked, (first, second), session=name, note=note_of(session))
    )


def ranking_found(db: Session, name: str, *, seed: int = 1) -> RankingFound:
    """Return in which order the products of a session were ranked, and what is sure of it.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or not revealed yet.
    """
    from analysis.ranking import assess_ranking
    from panel.frames.sets import sets_frame, sets_session

    session = sets_session(db, name)
    frame = sets_frame(db, name)
    return RankingFound(assess_ranking(frame, session=name, note=note_of(session), seed=seed))


def note_of(session: PanelSession) -> str | None:
    """Return the note that a session asks about, None where it asks about anything."""
    names = [line.descriptor_version.descriptor.name for line in session.descriptors]
    return names[0] if names else None


def answered_sets(glasses: pd.DataFrame, first: str) -> pd.DataFrame:
    """Return one row a set: `right` is 1 where the first was picked, or the two were sorted.

    A set counts as its worst glass does; one that was not answered whole has no answer.
    """
    import pandas as pd

    rows = []
    for (who, number), one in glasses.groupby(["assessor", "set"], sort=False):
        odd = [status for status in one["status"] if status != "kept"]
        places = dict(zip(one["code"], one["place"], strict=True))
        right: float | None = None
        if one["place"].notna().all() and len(places) == len(one):
            mine = set(one.loc[one["product"] == first, "place"])
            others = set(one.loc[one["product"] != first, "place"])
            pair = len(one) == 2
            right = float(mine == {1.0}) if pair else float(len(mine) == len(others) == 1)
        rows.append((who, number, right, odd[0] if odd else "kept"))
    return pd.DataFrame(rows, columns=["assessor", "set", "right", "status"])
