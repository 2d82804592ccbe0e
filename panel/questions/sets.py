"""What sessions in sets found: two products told apart, or several ranked."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from analysis.as_json import keys_of
from panel.errors import PlanRefused

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.difference import Difference, DifferencePlan
    from analysis.ranking import Ranking, RankingPlan
    from panel.kinds import SessionKind
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


@dataclass(frozen=True)
class SetsPower:
    """What so many sets can tell, one plan for each number of people."""

    kind: SessionKind
    sets_each: int
    plans: tuple[DifferencePlan | RankingPlan, ...]

    json_keys = ("kind", "sets_each", "plans")

    def lines(self, width: int = 80) -> list[str]:
        """Return it as lines of text."""
        lines: list[str] = []
        for plan in self.plans:
            for said in plan.said():
                lines += wrap(said, width)
            lines.append("")
        return lines[:-1]


def sets_power(
    kind: SessionKind,
    people: tuple[int, ...],
    sets_each: int,
    *,
    products: int = 4,
    alike_within: float | None = None,
    one_way: bool = False,
) -> SetsPower:
    """Return what sets of a kind can tell, before anything is planned.

    Raises
    ------
    PlanRefused
        Alike is asked of a ranking, or one way of what has none.
    """
    from analysis.difference import Asked, plan_difference
    from analysis.ranking import plan_ranking
    from panel.session.sets_power import METHODS

    method = METHODS.get(kind.facts.task) if kind.facts.task else None
    if method is None:
        if alike_within is not None or one_way:
            raise PlanRefused("A ranking finds nothing alike, and has no one way: ask of a pair.")
        ranked = tuple(plan_ranking(products, n * sets_each, people=n) for n in people)
        return SetsPower(kind, sets_each, ranked)
    if one_way and not method.signed:
        raise PlanRefused(f"Asked {kind.value}, neither is the stronger: ask of pairs.")
    asked = Asked(method, not one_way, alike_within)
    told = tuple(plan_difference(asked, n * sets_each, n) for n in people)
    return SetsPower(kind, sets_each, told)


def note_of(session: PanelSession) -> str | None:
    """Return the note that a session asks about, None where it asks about anything."""
    names = [line.descriptor_version.descriptor.name for line in session.descriptors]
    return names[0] if names else None


def answered_sets(glasses: pd.DataFrame, first: str) -> pd.DataFrame:
    """Return one row a set: `right` is 1 where the first was picked, or the two were told apart.

    Told apart they are where all glasses of one product have one place and all of the other have
    another: sorted two and two, the odd one picked, or its like found for the reference.

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
