"""The questions of the house put to the records: one function each, for screens and commands."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from analysis.bar_words import told
from analysis.bars import BY_NAME, NOTHING_AGREED, Allowed, Bar, Purpose, forbidding
from panel.errors import WrongState

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.ageing import Ageing, Asked
    from analysis.agreement import Agreement
    from analysis.influences import Influences
    from analysis.profile import Profile
    from analysis.target import LeftOut, Match

WITH_HELD = Allowed(bars=BY_NAME | {Bar.RESERVED})
TO_DATE = 40
"""Sessions that an evening is laid beside: enough to know a panel, and the panel of these years."""


def session_agreement(
    db: Session, name: str, *, as_of: date | None = None, seed: int = 1
) -> Agreement:
    """Return the agreement of a closed or revealed session, beside those revealed before it.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; still open, when only its progress is shown; or scored in own words.
    """
    from analysis.agreement import AgreementSettings, assess_agreement
    from panel.frames import finished_session, recent_sessions, scores_frame, session_frame
    from panel.kinds import SessionStatus
    from panel.store.house import number_setting

    session = finished_session(db, name)
    if session.kind.facts.own_lines:
        raise WrongState(
            f"Session {name} was scored in own words, and nobody shares a line with another: "
            f"`oakpanel agreement {name}` lays the words out, "
            f"`oakpanel session words {name}` lists them."
        )
    settings = AgreementSettings(tolerance=number_setting(db, "alike_tolerance"))
    to_date = recent_sessions(db, name, TO_DATE)
    earlier = [other for other in to_date if other != name]
    recent = scores_frame(db, sessions=earlier, as_of=as_of) if earlier else None
    scores = session_frame(db, name, as_of=as_of)
    coded = session.status is not SessionStatus.REVEALED
    return assess_agreement(scores, recent=recent, settings=settings, seed=seed, coded=coded)


def house_profile(db: Session, *, as_of: date, start: Profile | None = None) -> Profile:
    """Return what each sample is, over all revealed sessions held by *as_of*.

    `start` is an earlier profile that the fit may begin from.
    """
    from analysis.profile import estimate_profile
    from panel.frames import scores_frame

    scores = scores_frame(db, as_of=as_of, revealed_only=True)
    return estimate_profile(scores, as_of=as_of, start=start)


def target_match(
    db: Session,
    target: str,
    *,
    as_of: date,
    top: int | None = None,
    with_held: bool = False,
    seed: int = 1,
    profile: Profile | None = None,
) -> Match:
    """Return which casks suit a target, best first.

    Casks that are empty are left out; so are those leaking, on hold, reserved as a whole or of
    another owner, unless `with_held`: nobody uses them unasked. All that is left out is listed
    with every reason.
    """
    from analysis.profile.latest import in_cask
    from analysis.target import match_casks
    from panel.frames import casks_frame, target_of

    aim = target_of(db, target)
    known = profile or house_profile(db, as_of=as_of)
    casks = in_cask(casks_frame(db, as_of))
    barred = _barred_fillings(casks, WITH_HELD if with_held else NOTHING_AGREED)
    nosed = known.estimates
    usable = replace(known, estimates=nosed[~nosed["filling"].isin(list(barred))])
    found = match_casks(usable, aim, casks=casks, top=top, seed=seed)
    held = _left_out(nosed[nosed["filling"].isin(list(barred))], barred)
    return replace(found, left_out=(*found.left_out, *held))


def influences_of(
    db: Session,
    *,
    as_of: date,
    descriptors: Sequence[str] = (),
    with_map: bool = True,
    with_stock: bool = True,
    profile: Profile | None = None,
) -> Influences:
    """Return what wood, age, peat and strength do, over all revealed sessions held by *as_of*.

    `descriptors` are those wanted, all by default; `with_stock` foretells casks never nosed.
    """
    from analysis.influences import estimate_influences
    from panel.frames.draws import draws_frame, present_frame

    known = profile or house_profile(db, as_of=as_of)
    return estimate_influences(
        known,
        draws_frame(db, as_of),
        stock=present_frame(db, as_of) if with_stock else None,
        descriptors=tuple(descriptors) or None,
        with_map=with_map,
    )


def ageing_of(
    db: Session,
    *,
    as_of: date,
    asked: Asked | None = None,
    targets: Sequence[str] = (),
    seed: int = 1,
    profile: Profile | None = None,
) -> Ageing:
    """Return how styles or casks develop, and when casks meet the targets named.

    A cask that leaks, is on hold, reserved as a whole or of another owner is left out with
    every reason unless it is asked for by number.
    """
    from analysis.ageing import Asked, estimate_ageing
    from analysis.profile.latest import in_cask
    from panel.frames import casks_frame, target_of
    from panel.frames.draws import draws_frame, present_frame

    wanted = asked or Asked()
    aims = [target_of(db, name) for name in targets]
    known = profile or house_profile(db, as_of=as_of)
    stock = present_frame(db, as_of)
    barred = {} if wanted.casks else _barred_fillings(in_cask(casks_frame(db, as_of)))
    found = estimate_ageing(
        known,
        draws_frame(db, as_of),
        stock=stock[~stock["filling"].isin(list(barred))],
        as_of=as_of,
        targets=aims,
        asked=wanted,
        seed=seed,
    )
    held = {f"cask {cask}": why for cask, why in barred.values()} if aims else {}
    return replace(found, left_out={**found.left_out, **held})


def _barred_fillings(
    casks: pd.DataFrame, allowed: Allowed = NOTHING_AGREED
) -> dict[str, tuple[str, str]]:
    """Number of the cask and every reason, for each filling that may not be chosen unasked."""
    rows = zip(casks["filling"], casks["cask"], casks["bars"].to_list(), strict=True)
    return {
        str(filling): (str(cask), told(against))
        for filling, cask, bars in rows
        if (against := forbidding(bars, Purpose.MATCH, allowed))
    }


def _left_out(rows: pd.DataFrame, barred: dict[str, tuple[str, str]]) -> list[LeftOut]:
    from analysis.profile.latest import latest_draws
    from analysis.target import LeftOut

    return [
        LeftOut(cask=str(row.cask), sample=str(row.sample), reason=barred[str(row.filling)][1])
        for row in latest_draws(rows).itertuples()
    ]
