"""Every sentence that judges a ranking, in one place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..agreement.verdict.words import Verdict, listed
from ..counted import count
from .result import RankedProduct, RankingWord


@dataclass(frozen=True)
class RankedBy:
    """Products that were ranked, by how many; those left out with why."""

    products: Sequence[RankedProduct]
    note: str | None
    n_rankings: int
    n_people: int
    gone: Mapping[str, str]

    @property
    def alone(self) -> bool:
        """Whether one person ranked several times, and nobody else did."""
        return self.n_people == 1 < self.n_rankings

    @property
    def about(self) -> str:
        """What it speaks about, and of whom."""
        on = f" on {self.note}" if self.note else ""
        return f"{on} to the one person who ranked them" if self.alone else on

    def after(self, said: str) -> str:
        """A sentence with what it does not speak of."""
        if self.alone:
            said += "; of the panel one person says nothing"
        for product, why in self.gone.items():
            said += f"; {product} is left out ({why})"
        return said


def ranking_verdict(
    by: RankedBy, p: float | None, error: float, needed: int | None
) -> Verdict[RankingWord]:
    """Say whether products that were ranked differ, and which surely do."""
    on = by.about
    if p is None:
        said = (
            f"No ranking{on} says anything: {count(by.n_rankings, 'ranking')}, and nothing "
            "told apart"
        )
        return Verdict(RankingWord.TOO_LITTLE, by.after(said), "pour them again")
    if p > error:
        said = (
            f"Whether these {len(by.products)} products differ{on} cannot be told yet: orders "
            f"drawn by lot come out as far apart in {round(100 * p)} sessions of 100; not found "
            "different is not found alike"
        )
        return Verdict(RankingWord.CANNOT_TELL, by.after(said), _more(by, needed))
    pairs = [f"{one.product} before {listed(one.below)}" for one in by.products if one.below]
    if not pairs:
        said = f"The products differ{on}, yet no two of them surely do"
        next_action = "set first and last beside each other as a pair"
    else:
        said = f"The products differ{on}: {'; '.join(pairs)}"
        next_action = "take no other two for different"
    return Verdict(RankingWord.DIFFERENT, by.after(said), MORE_PEOPLE if by.alone else next_action)


MORE_PEOPLE = "have others of the panel rank them before anything is said of it"


def _more(by: RankedBy, needed: int | None) -> str:
    if by.alone:
        return MORE_PEOPLE
    if needed is None or needed <= by.n_people:
        return "set first and last beside each other as a pair: that takes fewer glasses"
    of = (
        f"{needed} people who rank once each"
        if by.n_people < by.n_rankings
        else f"{needed} rankings"
    )
    return (
        f"plan a new session of {of}, which finds a d-prime of 1 between first and "
        "last 8 times in 10; these do not count in it, or the odds would be off"
    )
