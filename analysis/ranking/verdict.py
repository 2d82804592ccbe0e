"""Every sentence that judges a ranking, in one place."""

from __future__ import annotations

from collections.abc import Sequence

from ..agreement.verdict.words import Verdict, count, listed
from .result import RankedProduct, RankingWord


def ranking_verdict(
    products: Sequence[RankedProduct],
    note: str | None,
    n_rankings: int,
    p: float | None,
    error: float,
    needed: int | None,
) -> Verdict[RankingWord]:
    """Say whether products that were ranked differ, and which surely do."""
    on = f" on {note}" if note else ""
    if p is None:
        return Verdict(
            RankingWord.TOO_LITTLE,
            f"No ranking{on} says anything: {count(n_rankings, 'ranking')}, and nothing told apart",
            "pour them again",
        )
    if p > error:
        return Verdict(
            RankingWord.CANNOT_TELL,
            f"Whether these {len(products)} products differ{on} cannot be told yet: orders drawn "
            f"by lot come out as far apart in {round(100 * p)} sessions of 100; not found "
            "different is not found alike",
            _more(n_rankings, needed),
        )
    pairs = [f"{one.product} before {listed(one.below)}" for one in products if one.below]
    if not pairs:
        return Verdict(
            RankingWord.DIFFERENT,
            f"The products differ{on}, yet no two of them surely do",
            "set first and last beside each other as a pair",
        )
    return Verdict(
        RankingWord.DIFFERENT,
        f"The products differ{on}: {'; '.join(pairs)}",
        "take no other two for different",
    )


def _more(n_rankings: int, needed: int | None) -> str:
    if needed is None or needed <= n_rankings:
        return "set first and last beside each other as a pair: that takes fewer glasses"
    return (
        f"plan a new session of {needed} rankings, which finds a d-prime of 1 between first and "
        "last 8 times in 10; these do not count in it, or the odds would be off"
    )
