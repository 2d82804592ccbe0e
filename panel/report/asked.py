"""One function a page: ask what stands on it and return it as HTML; command and desk call these."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from analysis.errors import AnalysisError
from panel.errors import OakpanelError, WrongState
from panel.kinds import ReleaseStatus
from panel.report.readers import Reader, SheetReader

if TYPE_CHECKING:
    from datetime import date

    from analysis.profile import Profile
    from panel.release.guests import GuestScore
    from panel.release.tasting import Tasting
    from panel.store.engine import Session


def session_report(
    db: Session,
    name: str,
    *,
    today: date,
    as_of: date | None = None,
    reader: Reader = Reader.OTHERS,
    seed: int = 1,
) -> str:
    """Return the page of a closed or revealed session, as on another day where one is named.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or not closed yet.
    """
    from panel.pictures.sessions import pictures_for_lead, pictures_of
    from panel.questions.kinds import session_answer
    from panel.questions.stands_on import stands_on
    from panel.report.kinds import SESSION_REPORTS
    from panel.session.facts import session_facts

    answer = session_answer(db, name, as_of=as_of, seed=seed)
    facts, stands = session_facts(db, name), stands_on(db, as_of or today)
    lead = reader is Reader.LEAD
    drawn = pictures_for_lead(db, answer, as_of=as_of) if lead else pictures_of(answer)
    return SESSION_REPORTS[facts.kind](answer, facts, stands, reader=reader, pictures=drawn)


def cask_report(
    db: Session,
    number: str,
    *,
    today: date,
    as_of: date | None = None,
    profile: Profile | None = None,
) -> str:
    """Return the page of a cask.

    Raises
    ------
    UnknownRecord
        There is no cask of that number.
    """
    from panel.pictures.ageing import grown
    from panel.questions.ageing import house_ageing
    from panel.questions.asked_profile import asked_profile
    from panel.questions.cask_life import cask_life
    from panel.questions.glasses import cask_glasses
    from panel.questions.stands_on import stands_on_sessions
    from panel.report.cask import CaskAnswers, cask_page

    stands = stands_on_sessions(db, today=today, as_of=as_of)
    day = stands.as_of
    life = cask_life(db, number, day)
    asked, why = _or_why(lambda: asked_profile(db, (number,), as_of=day, profile=profile))
    ages, no_ages = _or_why(lambda: house_ageing(db, as_of=day, casks=(number,), profile=profile))
    answers = CaskAnswers(
        life=life,
        asked=asked,
        asked_reason=why,
        ageing=ages,
        ageing_reason=no_ages,
        drawn=grown(db, ages) if ages else (),
        glasses=cask_glasses(db, number, as_of=day),
    )
    return cask_page(answers, stands)


Answer = TypeVar("Answer")


def _or_why(ask: Callable[[], Answer]) -> tuple[Answer | None, str]:
    """Return an answer, or the sentence that says why there is none."""
    try:
        return ask(), ""
    except (OakpanelError, AnalysisError) as error:
        return None, str(error)


def ageing_report(
    db: Session,
    *,
    today: date,
    as_of: date | None = None,
    make: str | None = None,
    wood: str | None = None,
    casks: tuple[str, ...] = (),
    descriptors: tuple[str, ...] = (),
    target: str | None = None,
    seed: int = 1,
    profile: Profile | None = None,
) -> str:
    """Return the page of how styles or casks develop, and when a target is met.

    Raises
    ------
    UnknownRecord
        There is no such target.
    """
    from panel.pictures.ageing import grown
    from panel.questions.ageing import house_ageing
    from panel.questions.stands_on import stands_on_sessions
    from panel.report.ageing import ageing_page

    stands = stands_on_sessions(db, today=today, as_of=as_of)
    found = house_ageing(
        db,
        as_of=stands.as_of,
        make=make,
        wood=wood,
        casks=casks,
        descriptors=descriptors,
        target=target,
        seed=seed,
        profile=profile,
    )
    drawn = () if target and not casks else grown(db, found)
    name = ageing_name(make, wood, casks, descriptors, target)
    return ageing_page(found, drawn, stands, name=name)


def ageing_name(
    make: str | None,
    wood: str | None,
    casks: tuple[str, ...],
    descriptors: tuple[str, ...],
    target: str | None,
) -> str:
    """Return what was asked of ageing in few words."""
    parts = [*casks, *([make] if make else []), *([wood] if wood else []), *descriptors]
    parts += [f"for {target}"] if target else []
    return ", ".join(parts) or "of all styles"


def panel_report(
    db: Session,
    names: Sequence[str],
    *,
    today: date,
    as_of: date | None = None,
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> str:
    """Return the page of the panel over some sessions, or over all that are closed.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; one still open; or one whose lines no other has.
    """
    from panel.pictures.people import moving
    from panel.questions.agreement import span_agreement
    from panel.questions.sessions import sessions_between
    from panel.questions.stands_on import stands_on
    from panel.report.panel import panel_page
    from panel.session.reopened import reopened_lines

    asked = list(names) or sessions_between(db, None, None)
    found = span_agreement(db, asked, as_of=as_of, seed=seed, progress=progress)
    drawn = moving(found)
    late = reopened_lines(db, asked)
    return panel_page(found, stands_on(db, as_of or today), pictures=drawn, late=late)


def release_report(
    db: Session,
    name: str,
    *,
    today: date,
    as_of: date | None = None,
    reader: SheetReader = SheetReader.HOUSE,
    profile: Profile | None = None,
) -> str:
    """Return the page of a release for one of its readers.

    Raises
    ------
    UnknownRecord, WrongState
        There is none; or a guest's page of one that is not bottled.
    """
    from panel.pictures.releases import in_the_house
    from panel.questions.stands_on import stands_on_sessions
    from panel.release.sheet import sheet_of
    from panel.release.trace import record_of
    from panel.report.release import release_page

    house, guest = reader is SheetReader.HOUSE, reader is SheetReader.GUEST
    stands = stands_on_sessions(db, today=today, as_of=as_of)
    day = stands.as_of
    sheet = sheet_of(db, name, as_of=day, profile=profile)
    if guest and sheet.status != ReleaseStatus.BOTTLED.value:
        raise WrongState(
            f"Release {sheet.release} is {sheet.status}: its figures may still change, so a "
            "guest's page is made once it is bottled."
        )
    record = record_of(db, name, as_of=day, profile=profile) if house else {}
    drawn = () if guest else in_the_house(db, name, as_of=day, profile=profile)
    return release_page(
        sheet,
        record,
        stands,
        reader=reader,
        pictures=drawn,
    )


def tasting_report(
    db: Session,
    names: Sequence[str],
    *,
    today: date,
    as_of: date | None = None,
    ml: float | None = None,
    paper: bool = False,
    guests: Path | Sequence[GuestScore] | None = None,
    profile: Profile | None = None,
) -> str:
    """Return a page of a tasting: the guide's cards, the guests' sheet, or their scores' page.

    Guests' scores are read from a file, or were typed. Nothing of guests or of pours is written
    into the records.

    Raises
    ------
    ReleaseError
        With all that speaks against these pours; or no note is told of any that could be scored.
    IntakeError
        With every fault of the file of guests' scores.
    """
    from panel.questions.stands_on import stands_on
    from panel.release.guests import beside_panel, guests_of
    from panel.release.tasting import POUR_ML, check_scored, tasting_of
    from panel.report.tasting import guests_page, paper_page

    day = as_of or today
    each = POUR_ML if ml is None else ml
    tasting = tasting_of(db, names, as_of=day, ml=each, profile=profile)
    if guests is not None:
        if isinstance(guests, Path):
            beside = guests_of(guests, tasting)
        else:
            beside = beside_panel(guests, tasting)
        return guests_page(tasting, beside, stands_on(db, day))
    if paper:
        check_scored(tasting)
        return paper_page(tasting)
    return _cards(db, tasting, day, profile)


def _cards(db: Session, tasting: Tasting, day: date, profile: Profile | None) -> str:
    from panel.pictures.releases import drawn_rails, rails_of
    from panel.questions.profile import house_profile
    from panel.questions.stands_on import stands_on
    from panel.report.tasting import cards_page

    told = [pour.sheet for pour in tasting.pours if pour.sheet.claims]
    known = (profile or house_profile(db, as_of=day)) if told else None
    rails = {one.release: rails_of(db, one, known, as_of=day) for one in told} if known else {}
    drawn = {one.release: drawn_rails(db, one, rails[one.release]) for one in told}
    return cards_page(tasting, stands_on(db, day), rails=rails, pictures=drawn)
