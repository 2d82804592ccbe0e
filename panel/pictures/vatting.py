"""Pictures of a vatting: what it does to the notes of its parts, and the litres of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.chance_words import chance
from analysis.pictures.vatted import what_it_does

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.pictures import Picture
    from analysis.vatting import SharesTried, Stock
    from panel.questions.vatting import VatAnswer


def put_together(tried: SharesTried, stock: Stock, *, target: str) -> tuple[Picture, ...]:
    """Return the pictures of a blend that was put together by hand, every limit not kept told."""
    told = [
        f"Put together by hand: chance {chance(tried.mixture.probability)} to be within on all "
        "notes.",
        *(each.sentence for each in tried.broken),
    ]
    return what_it_does(tried.mixture, stock, target=target, said=" ".join(told))


def vatted(db: Session, answer: VatAnswer) -> tuple[Picture, ...]:
    """Return the pictures of a vatting that was found; none where there is none."""
    from analysis.vatting import VattingPlan
    from panel.questions.vatting import house_stock

    plan = answer.found
    if not isinstance(plan, VattingPlan):
        return ()
    names = [line.descriptor for line in plan.mixture.prediction]
    house = house_stock(
        db,
        as_of=answer.as_of,
        bottling_on=answer.stock_on,
        descriptors=names,
        with_foretold=bool(plan.mixture.foretold),
    )
    return what_it_does(plan.mixture, house.stock, target=plan.target, said=plan.sentence)
