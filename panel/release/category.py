"""What a whisky may be called by its makes: single or blended, malt or grain."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.questions.oak import Oak, woods_that_are
from panel.store.casks import Make
from panel.store.rules import asking_for_oak, rules_in_force

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

MALTED = frozenset({"barley", "malted barley", "barley malt", "malt"})
"""Cereals, as houses write them, that make a malt whisky; any other makes a grain whisky."""
NAMES = {
    (True, False): ("single malt", "blended malt"),
    (False, True): ("single grain", "blended grain"),
}
"""By whether malt and grain are in it: from one site, from several (Scotch Whisky Regulations
2009, regulation 3, from memory)."""
BOTH = "blended"
"""Malt with grain is blended, of one distillery too (the same regulation, from memory)."""


@dataclass(frozen=True)
class Category:
    """The category by the records; None with the reason where they do not tell."""

    name: str | None
    reason: str | None
    makes: tuple[str, ...]
    sites: tuple[str, ...]


def category_of(
    db: Session,
    makes_of_parts: Collection[frozenset[str] | None],
    woods: Collection[str] = (),
) -> Category:
    """Return the category of what holds these makes, part by part, and lay in these woods."""
    other = woods_that_are(Oak.NO, woods)
    in_force = rules_in_force(db)
    if other and (asking_for_oak(in_force) or not in_force):
        what = f"{' and '.join(other)} {'is' if len(other) == 1 else 'are'} not of oak"
        return Category(None, what, (), ())
    known = [makes for makes in makes_of_parts if makes is not None]
    names = frozenset().union(*known)
    if not names or len(known) < len(makes_of_parts):
        return Category(None, "the make of a part is not on record", (), ())
    makes = list(db.scalars(select(Make).where(Make.name.in_(sorted(names))).order_by(Make.name)))
    sites = tuple(sorted({make.site for make in makes}))
    malt = [make.cereal.strip().lower() in MALTED for make in makes]
    called = NAMES.get((any(malt), not all(malt)))
    name = called[len(sites) > 1] if called else BOTH
    return Category(name, None, tuple(make.name for make in makes), sites)
