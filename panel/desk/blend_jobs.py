"""What the page of blending asks of the records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.next_glasses import VatMind
    from analysis.target import Target
    from analysis.vatting import Limits, SharesTried
    from panel.desk.app import DeskApp
    from panel.questions.blending import BlendStart
    from panel.questions.vatting import HouseStock
    from panel.release.batch import AsBatch
    from panel.store.engine import Session


def read_start(
    desk: DeskApp, target: str, limits: Limits, like: AsBatch | None, *, with_foretold: bool
) -> tuple[BlendStart, str]:
    """Return the stock with a choice of casks to begin with, and the sessions it lacks in words."""
    from panel.desk.held_later import later_here
    from panel.questions.blending import blend_start
    from panel.release.batch_steps import batch_start

    today = desk.today()
    with desk.store.read() as db:
        how: dict[str, Any] = {
            "as_of": today,
            "profile": desk.known.of(db, as_of=today),
            "with_foretold": with_foretold,
        }
        if like is None:
            start = blend_start(db, target, limits, **how)
        else:
            start = batch_start(db, target, limits, like, **how)
        return start, later_here(db, today)


def tried_here(
    house: HouseStock, litres: Mapping[str, float], aim: Target, limits: Limits
) -> tuple[SharesTried | None, str]:
    """Return what litres come to, or the sentence that says why they cannot be poured together."""
    from analysis.errors import AnalysisError
    from panel.questions.blending import try_litres

    try:
        return try_litres(house, litres, aim, limits), ""
    except AnalysisError as error:
        return None, str(error)


def mind_of(
    desk: DeskApp, db: Session, house: HouseStock, aim: Target, litres: Mapping[str, float]
) -> VatMind | None:
    """Return what the next session could change about litres; None where there are none."""
    from panel.questions.change_of_mind import would_change_of

    parts = {cask: each for cask, each in litres.items() if each > 0.0}
    if not parts:
        return None
    known = desk.known.of(db, as_of=house.as_of)
    return would_change_of(db, aim, parts, as_of=house.as_of, house=house, profile=known)
