"""What plans the next session for each question, from the records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panel.errors import OakpanelError, UnknownRecord
from panel.questions.next_wanted import RECORDS, NextWanted
from panel.store.house import number_setting

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import Known, NextSession, NextSettings, Room
    from analysis.profile import Profile
    from analysis.target import Target
    from analysis.vatting import Limits
    from panel.questions.vatting import HouseStock

    Planner = Callable[[Room], NextSession]


@dataclass(frozen=True)
class VatAsked:
    """A vatting that is to be judged.

    Attributes
    ----------
    release
        Its name; that of the target where it is none yet.
    parts
        Litres by cask.
    bench
        A bench blend of it that stands on the shelf, and how many glasses it gives.
    """

    release: str
    aim: Target
    house: HouseStock
    parts: Mapping[str, float]
    bottles: int | None
    bench: str | None = None
    glasses: int | None = None

    @property
    def told(self) -> str:
        """What an answer about it hangs on beside the stock."""
        of_stock = (self.house.day, len(self.house.stock), self.house.rule)
        return repr((self.release, sorted(self.parts.items()), self.bottles, self.bench, of_stock))


def next_settings(db: Session) -> NextSettings:
    """Return when this house stops nosing."""
    from analysis.next_glasses import NextSettings

    return NextSettings(stop_at=number_setting(db, "next_stop_points"))


def first_planner(db: Session, wanted: NextWanted, as_of: date) -> Planner:
    """Return what plans the first session of a house."""
    from analysis.next_glasses import Question, first_session
    from panel.kept.stock import stock_frame

    casks, settings = stock_frame(db, as_of), next_settings(db)
    question = Question.BEST
    if wanted.make is not None:
        casks, question = casks[casks["make"] == wanted.make], Question.READY
    elif wanted.record is not None:
        question = Question.RECORD
    about = wanted.make or wanted.record or wanted.target or ""
    return lambda room: first_session(
        casks, room, question=question, about=about, settings=settings
    )


def planner_of(
    db: Session,
    wanted: NextWanted,
    profile: Profile,
    as_of: date,
    aim: Any,
    vat: VatAsked | None,
) -> Planner:
    """Return what plans the next session for a question."""
    if vat is not None:
        return _for_vat(db, wanted, profile, as_of, vat)
    if wanted.record is not None:
        return _for_record(db, wanted, profile, as_of)
    if aim is None:
        raise UnknownRecord("Name a target: casks are the best for one, and ready for one.")
    if wanted.make is not None:
        return _for_ready(db, wanted, profile, as_of, aim)
    return _for_target(db, wanted, profile, as_of, aim)


def known_of(
    db: Session,
    profile: Profile,
    as_of: date,
    notes: list[str] | None,
    *,
    with_foretold: bool = True,
    house: HouseStock | None = None,
) -> Known:
    """Return what the house knows on a day of the casks on some notes, and of the people."""
    from analysis.next_glasses import known_from
    from panel.frames import scores_frame
    from panel.questions.vatting import house_stock

    stock = house or house_stock(
        db, as_of=as_of, profile=profile, descriptors=notes, with_foretold=with_foretold
    )
    scores = scores_frame(db, as_of=as_of, revealed_only=True)
    return known_from(profile, scores, stock.stock, said_on=as_of)


def _for_target(
    db: Session, wanted: NextWanted, profile: Profile, as_of: date, aim: Target
) -> Planner:
    from analysis.bars import NOTHING_AGREED
    from analysis.next_glasses import next_for_target
    from analysis.on_stock.matching import WITH_HELD
    from panel.questions.vatting import house_stock

    house = house_stock(
        db,
        as_of=as_of,
        profile=profile,
        bottling_on=wanted.bottling_on,
        descriptors=[line.descriptor for line in aim.lines],
        with_foretold=True,
    )
    known = known_of(db, profile, as_of, None, house=house)
    settings = next_settings(db)
    return lambda room: next_for_target(
        *(known, aim, wanted.best, room),
        bottles=_bottles(known) if wanted.bottles else None,
        settings=settings,
        allowed=WITH_HELD if wanted.with_held else NOTHING_AGREED,
        seed=wanted.seed,
    )


def _bottles(known: Known) -> dict[str, float]:
    """Return the bottles that each cask would give, at the strength that is usual here."""
    from analysis.vatting import Limits

    usual: Limits = Limits()
    casks = known.stock.casks
    litres = casks["bulk_l"] * casks["abv"] / (usual.abv_percent or 46.0)
    bottles = litres * (1.0 - usual.loss_fraction) / (usual.bottle_ml / 1000.0)
    told = bottles.notna()
    return {str(c): float(n) for c, n in zip(casks["cask"][told], bottles[told], strict=True)}


def _for_ready(
    db: Session, wanted: NextWanted, profile: Profile, as_of: date, aim: Target
) -> Planner:
    from analysis.next_glasses import next_for_ready
    from panel.questions.stock import notes_on

    notes = [line.descriptor for line in aim.lines]
    known = known_of(db, profile, as_of, notes)
    stock, settings = known.stock.casks, next_settings(db)
    casks = [str(name) for name in stock.loc[stock["make"] == wanted.make, "cask"]]
    if not casks:
        makes = ", ".join(sorted({str(name) for name in stock["make"].dropna()}))
        raise UnknownRecord(f"No cask of the make {wanted.make!r} lies here. There are: {makes}.")
    moved = notes_on(db, as_of=as_of, profile=profile, descriptors=notes)
    return lambda room: next_for_ready(
        *(known, aim, moved, room),
        casks=casks,
        about=f"{wanted.make} for {aim.name}",
        settings=settings,
        seed=wanted.seed,
    )


def _for_record(db: Session, wanted: NextWanted, profile: Profile, as_of: date) -> Planner:
    from analysis.next_glasses import Record, next_for_record

    if wanted.record not in RECORDS:
        raise UnknownRecord(f"There is no record {wanted.record!r}: {', '.join(RECORDS)}.")
    record = Record[RECORDS[wanted.record]]
    known = known_of(db, profile, as_of, None, with_foretold=False)
    settings = next_settings(db)
    return lambda room: next_for_record(known, record, room, settings=settings, seed=wanted.seed)


def _for_vat(
    db: Session, wanted: NextWanted, profile: Profile, as_of: date, vat: VatAsked
) -> Planner:
    from analysis.next_glasses import next_for_vat

    known = known_of(db, profile, as_of, None, house=vat.house)
    unknown = [cask for cask in vat.parts if cask not in known.stock.position]
    if unknown:
        raise OakpanelError(f"{', '.join(unknown)}: no longer in cask, so nothing can be nosed.")
    settings = next_settings(db)
    return lambda room: next_for_vat(
        *(known, vat.aim, vat.parts, room),
        rule=vat.house.rule,
        about=vat.release,
        bottles=vat.bottles if wanted.bottles else None,
        settings=settings,
        seed=wanted.seed,
    )
