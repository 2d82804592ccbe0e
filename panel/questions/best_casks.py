"""The best casks for a target today, and whether nosing on is still worth it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from panel.errors import PlanRefused
from panel.questions.next_wanted import NextWanted
from panel.questions.usual_best import USUAL_BEST

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import Change, Cut, NextSession, Stop
    from analysis.profile import Profile


@dataclass(frozen=True)
class BestCasks(AsJson):
    """Which casks are chosen for a day, where the choice ends, and whether to nose on.

    Attributes
    ----------
    n_wanted
        How many were asked for.
    found
        The session that tells most about them, with all that it says.
    bottling_on
        The day on which they are the best; None is today.
    with_held
        Whether casks that are barred by their records may be among them.
    """

    n_wanted: int
    found: NextSession
    bottling_on: date | None = None
    with_held: bool = False

    json_keys = ("n_wanted", "chosen", "cut", "expected_loss", "saves", "stop")

    @property
    def as_proposed(self) -> bool:
        """Whether it is the session that `session next` proposes, which asks of neither."""
        return self.bottling_on is None and not self.with_held

    @property
    def chosen(self) -> tuple[str, ...]:
        """The best, the nearest first."""
        return self.found.chosen

    @property
    def cut(self) -> Cut | None:
        """Between which two casks the choice ends."""
        return self.found.cut

    @property
    def expected_loss(self) -> float | None:
        """What deciding today is expected to cost, points."""
        return self.found.expected_loss

    @property
    def saves(self) -> float | None:
        """How much of it the next session is expected to save."""
        return self.found.saves

    @property
    def stop(self) -> Stop:
        """Whether to go on nosing."""
        return self.found.stop


@dataclass(frozen=True)
class BestTold(AsJson):
    """The best casks; None where nobody asked, or with the reason why nobody can say."""

    best: BestCasks | None
    unknown: str | None = None

    json_keys = ("best", ("unknown", "best_unknown"))

    @property
    def changes(self) -> tuple[Change, ...] | None:
        """What the next session could change about them; None where nobody can say."""
        return None if self.best is None else self.best.found.changes


NOT_ASKED = BestTold(None)


def best_casks(
    db: Session,
    target: str,
    *,
    as_of: date,
    best: int = USUAL_BEST,
    bottling_on: date | None = None,
    with_held: bool = False,
    seed: int = 1,
    profile: Profile | None = None,
) -> BestTold:
    """Return the best casks for a target, as `session next` has them.

    Raises
    ------
    UnknownRecord
        There is no such target.
    """
    from panel.questions.next_session import next_session

    wanted = NextWanted(
        target=target, best=best, seed=seed, bottling_on=bottling_on, with_held=with_held
    )
    try:
        found = next_session(db, wanted, as_of=as_of, profile=profile).found
    except PlanRefused as refused:
        return BestTold(None, str(refused))
    return BestTold(BestCasks(best, found, bottling_on, with_held))
