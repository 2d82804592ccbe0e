"""Targets made from what something is like."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import OakpanelError, UnknownRecord
from panel.figures import in_digits
from panel.kinds import Role
from panel.store.house import number_setting
from panel.store.lexicon import Descriptor
from panel.store.log import append_entry
from panel.store.targets import StoredTarget, StoredTargetLine
from panel.store.who import acting_person
from panel.store.word_text import name_fault

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

LEAST_TOLERANCE = 0.1


class WhyLeft(StrEnum):
    """Why a note that was found, or asked for, is no line of the target that is made."""

    NOT_ITS_OWN = "no line of its own target"
    UNSCORED = "a line of its own target that was not scored"
    FEW = "known of less than half of the nosed casks"
    APART = "nosed only where nothing is in common with the other sessions"


@dataclass(frozen=True)
class LeftNote:
    """A note that is left out of a target.

    `aim` is what was found, None where it was not scored; `n_casks` of `n_nosed` casks could be
    compared on it.
    """

    descriptor: str
    reason: WhyLeft
    aim: float | None
    n_casks: int
    n_nosed: int


@dataclass(frozen=True)
class Clipped:
    """An aim that was asked for beyond an end of the line, and what it became."""

    descriptor: str
    asked: float
    aim: float


@dataclass(frozen=True)
class Likeness:
    """Aims that were read off something, what that was, and what was not taken as asked."""

    source: str
    aims: Mapping[str, float]
    tolerances: Mapping[str, float]
    weights: Mapping[str, float]
    left_out: tuple[LeftNote, ...] = ()
    clipped: tuple[Clipped, ...] = ()


def make_target(
    db: Session,
    name: str,
    like: Likeness,
    *,
    tolerance: float | None = None,
    only: Sequence[str] = (),
    changes: Sequence[str] = (),
    now: datetime,
    by: str | None,
) -> StoredTarget:
    """Write a target with the lines of a likeness.

    `tolerance` holds for every line; without one, what the likeness brings, else the house's own
    for alike glasses. `changes` are those that the likeness has been through, for the log.

    Raises
    ------
    OakpanelError
        The name is taken or empty, a tolerance is not above zero, or no line is left.
    UnknownRecord
        A note is not in the lexicon.
    NotAllowed
        Whoever acts is no blender.
    """
    person = acting_person(db, by, Role.BLENDER)
    if tolerance is None and not like.tolerances:
        tolerance = number_setting(db, "alike_tolerance")
    target = _keep(db, name, like, tolerance, only)
    details = {"target": name, "source": like.source, "changes": list(changes)}
    append_entry(db, at=now, by=person.code, action="target made", details=details)
    return target


def _keep(
    db: Session, name: str, like: Likeness, tolerance: float | None, only: Sequence[str]
) -> StoredTarget:
    _refuse(db, name, tolerance)
    words = {each.name: each for each in db.scalars(select(Descriptor))}
    wanted = [note for note in like.aims if not only or note in only]
    unknown = [note for note in (*only, *wanted) if note not in words or note not in like.aims]
    if unknown:
        near = get_close_matches(unknown[0], sorted(words.keys() & like.aims.keys()), n=3)
        hint = f" The nearest: {', '.join(near)}." if near else ""
        raise UnknownRecord(f"The note {unknown[0]!r} is not in {like.source}.{hint}")
    target = StoredTarget(name=name, lines=[])
    for place, note in enumerate(wanted, 1):
        target.lines.append(
            StoredTargetLine(
                descriptor=words[note],
                place=place,
                aim=round(like.aims[note], 1),
                tolerance=tolerance or like.tolerances.get(note, LEAST_TOLERANCE),
                weight=like.weights.get(note, 1.0),
            )
        )
    db.add(target)
    db.flush()
    return target


def _refuse(db: Session, name: str, tolerance: float | None) -> None:
    if not name.strip():
        raise OakpanelError("Give the target a name.")
    if wrong := name_fault(name):
        raise OakpanelError(f"The target's name {wrong}.")
    if db.scalar(select(StoredTarget.id).where(StoredTarget.name == name)) is not None:
        raise OakpanelError(f"There is a target {name!r} already; give this one another name.")
    if tolerance is not None and tolerance <= 0.0:
        raise OakpanelError(f"The tolerance {in_digits(tolerance, 'g')} must be above zero.")
