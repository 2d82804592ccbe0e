"""One function a page of what the stock may become: influences, a target, a blend."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from analysis.profile import Profile
    from analysis.vatting import Limits
    from panel.questions.stands_on import StandsOn
    from panel.questions.stock_part import StockPart
    from panel.release.batch import AsBatch
    from panel.store.engine import Session


def influences_report(
    db: Session,
    *,
    today: date,
    as_of: date | None = None,
    descriptor: str | None = None,
    profile: Profile | None = None,
) -> str:
    """Return the page of what moves every note, or one.

    Raises
    ------
    UnknownRecord
        Nothing was nosed of that note.
    """
    from panel.questions.influences import influences_of
    from panel.questions.stands_on import stands_on_sessions
    from panel.report.influences import influences_page

    stands = stands_on_sessions(db, today=today, as_of=as_of)
    wanted = () if descriptor is None else (descriptor,)
    found = influences_of(
        db,
        as_of=stands.as_of,
        descriptors=wanted,
        with_map=False,
        with_stock=False,
        profile=profile,
    )
    return influences_page(found, stands, descriptor=descriptor)


def target_report(
    db: Session,
    target: str,
    *,
    today: date,
    as_of: date | None = None,
    bottling_on: date | None = None,
    with_held: bool = False,
    seed: int = 1,
    profile: Profile | None = None,
) -> str:
    """Return the page of a target: what is asked, and which casks suit it.

    Raises
    ------
    UnknownRecord
        There is no such target.
    """
    from panel.pictures.casks import ranked_casks
    from panel.questions.best_casks import best_casks
    from panel.questions.matching import target_match
    from panel.questions.stands_on import stands_on_sessions
    from panel.questions.targets import target_record
    from panel.report.target import target_page

    stands = stands_on_sessions(db, today=today, as_of=as_of)
    day = stands.as_of
    record = target_record(db, target)
    found = target_match(
        db,
        target,
        as_of=day,
        bottling_on=bottling_on,
        with_held=with_held,
        seed=seed,
        profile=profile,
    )
    drawn = [ranked_casks(db, found, as_of=day, on=bottling_on, profile=profile)]
    told = best_casks(
        *(db, target),
        as_of=day,
        bottling_on=bottling_on,
        with_held=with_held,
        seed=seed,
        profile=profile,
    )
    pictures = drawn if found.casks else ()
    return target_page(
        record,
        found,
        stands,
        pictures=pictures,
        best=told,
        asked=as_of,
    )


def blend_report(
    db: Session,
    target: str,
    limits: Limits,
    *,
    today: date,
    as_of: date | None = None,
    litres: Mapping[str, float] | None = None,
    like: AsBatch | None = None,
    with_held: bool = False,
    exponents: Mapping[str, float] | None = None,
    with_foretold: bool = False,
    profile: Profile | None = None,
) -> str:
    """Return the page of a blend: of the best choice, or of *litres* put together by hand.

    Litres that are to be *like* a batch before are held to that batch; `limits` are then those
    without what its recipe asks.

    Raises
    ------
    UnknownRecord
        There is no such target.
    AnalysisError
        What is asked cannot be tried; or the litres cannot be poured together.
    """
    from panel.pictures.vatting import vatted
    from panel.questions.stands_on import stands_on_sessions
    from panel.questions.vatting import house_vatting
    from panel.report.blend import plan_page

    stands = stands_on_sessions(db, today=today, as_of=as_of)
    if litres:
        return _by_hand(
            *(db, target, limits, litres),
            like=like,
            stands=stands,
            exponents=exponents,
            with_foretold=with_foretold,
            profile=profile,
        )
    answer = house_vatting(
        *(db, target, limits),
        as_of=stands.as_of,
        with_held=with_held,
        exponents=exponents,
        with_foretold=with_foretold,
        profile=profile,
    )
    return plan_page(
        answer,
        target,
        stands,
        pictures=vatted(db, answer),
    )


def _by_hand(
    db: Session,
    target: str,
    limits: Limits,
    litres: Mapping[str, float],
    *,
    like: AsBatch | None,
    stands: StandsOn,
    exponents: Mapping[str, float] | None,
    with_foretold: bool,
    profile: Profile | None,
) -> str:
    from panel.pictures.vatting import put_together
    from panel.questions.blending import try_litres
    from panel.release.batch_steps import batch_ground
    from panel.report.blend import tried_page

    ground = batch_ground(
        *(db, target, limits, like),
        as_of=stands.as_of,
        exponents=exponents,
        profile=profile,
        with_foretold=with_foretold,
    )
    house = ground.house
    tried = try_litres(house, litres, ground.aim, ground.limits)
    drawn = put_together(tried, house.stock, target=target)
    return tried_page(
        tried, house, ground.limits, target, stands, like=like.lot if like else "", pictures=drawn
    )


def stock_report(
    db: Session, *, today: date, as_of: date | None = None, part: StockPart | None = None
) -> str:
    """Return the page of the warehouse: what needs somebody, and open remarks on bottles.

    Raises
    ------
    UnknownRecord
        Nothing that lies in a cask belongs to that part of the stock.
    """
    from panel.questions.review.review import house_review
    from panel.questions.stands_on import stands_on
    from panel.release.lot_trace import all_remarks
    from panel.report.stock import stock_page

    stands = stands_on(db, as_of or today)
    review = house_review(db, as_of=stands.as_of, part=part)
    return stock_page(review, all_remarks(db, open_only=True), stands)


def lot_report(db: Session, lot: str, *, today: date) -> str:
    """Return the page of a lot, by its code or the name of the release.

    Raises
    ------
    UnknownRecord, WrongState
        There is none, or it is not bottled.
    """
    from panel.questions.stands_on import stands_on
    from panel.release.lot_trace import trace_lot
    from panel.report.lot import lot_page

    return lot_page(trace_lot(db, lot), stands_on(db, today))
