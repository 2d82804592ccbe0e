"""What a new sample would be called: as this house has called those before it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import DrawKind
from panel.store.casks import Cask, Filling
from panel.store.draws import Draw
from panel.store.filling_states import filling_states

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

LOOKED_AT = 200
"""So many of the newest samples tell the habit: what was usual years ago may not be so now."""
CASK, FILLING, COUNT = "\x01", "\x02", "\x03"
DAYS = {"\x04": "%Y-%m-%d", "\x05": "%Y%m%d", "\x06": "%y%m%d"}


@dataclass(frozen=True)
class Habit:
    """How samples of casks are called, and how many digits their count has at least."""

    pattern: str = f"{CASK}-{COUNT}"
    digits: int = 1

    def named(self, cask: str, filling: str, day: date, count: str) -> str:
        """Return the label of one sample."""
        label = self.pattern.replace(CASK, cask).replace(FILLING, filling)
        for sign, form in DAYS.items():
            label = label.replace(sign, day.strftime(form))
        return label.replace(COUNT, count)


@dataclass(frozen=True)
class Named:
    """A sample that was drawn from a cask."""

    label: str
    cask: str
    filling: str
    drawn_on: date | None


@dataclass(frozen=True)
class ProposedDraw:
    """A draw about to be written down; `filling` is empty where nothing lies in the cask."""

    cask: str
    filling: str
    label: str


def proposed_draws(db: Session, casks: Sequence[str], day: date) -> list[ProposedDraw]:
    """Return for each cask what lies in it and what a sample of it would be called."""
    lying = {s.cask: s.label for s in filling_states(db, day) if s.emptied_on is None}
    query = (
        select(Draw.label, Cask.number, Filling.label, Draw.drawn_on)
        .join(Filling, Filling.id == Draw.filling_id)
        .join(Cask, Cask.id == Filling.cask_id)
        .where(Draw.kind == DrawKind.CASK)
        .order_by(Draw.drawn_on.desc(), Draw.id.desc())
    )
    known = [Named(*row) for row in db.execute(query)]
    habit = habit_of(known)
    taken = set(db.scalars(select(Draw.label)))
    found = []
    for cask in casks:
        label = next_label(habit, cask, lying.get(cask, ""), day, taken)
        taken.add(label)
        found.append(ProposedDraw(cask, lying.get(cask, ""), label))
    return found


def habit_of(known: Sequence[Named]) -> Habit:
    """Return how most of the newest samples are called."""
    habits = Counter(habit for each in known[:LOOKED_AT] if (habit := _habit(each)) is not None)
    return habits.most_common(1)[0][0] if habits else Habit()


def _habit(known: Named) -> Habit | None:
    if known.filling in known.label:
        label = known.label.replace(known.filling, FILLING, 1)
    elif known.cask in known.label:
        label = known.label.replace(known.cask, CASK, 1)
    else:
        return None
    for sign, form in DAYS.items():
        if known.drawn_on is not None:
            label = label.replace(known.drawn_on.strftime(form), sign, 1)
    count = re.search(r"\d+$", label)
    if count is None:
        return Habit(label, 0)
    written = count.group()
    digits = len(written) if written.startswith("0") else 1
    return Habit(label[: count.start()] + COUNT, digits)


def next_label(habit: Habit, cask: str, filling: str, day: date, taken: Iterable[str]) -> str:
    """Return the first label of a cask that comes after all that are taken."""
    taken = set(taken)
    counted = COUNT in habit.pattern
    bare = habit.named(cask, filling, day, "")
    if not counted and bare not in taken:
        return bare
    before = bare if counted else f"{bare}-"
    counts = [
        int(label[len(before) :])
        for label in taken
        if label.startswith(before) and label[len(before) :].isdecimal()
    ]
    first = 1 if counted else 2
    return f"{before}{max(counts, default=first - 1) + 1:0{max(habit.digits, 1)}d}"
