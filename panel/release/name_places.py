"""Where parts of a name stand in what was written of bottles: found, and taken out where asked.

A first name or a surname is often somebody else's too, or a word of the trade; so each place is
shown before anything is taken out.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from panel.errors import OakpanelError, UnknownRecord
from panel.store.bottle_remarks import BottleRemark, LotBottle
from panel.store.person_record import without

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

SOMEBODY = "somebody"
"""What stands in a text where a name stood."""
SHORTEST, AROUND = 2, 28
CHANGED = "What was shown has been changed meanwhile. Parts of the name stand here now:"
_TEXTS: tuple[tuple[type[BottleRemark | LotBottle], str, str, str], ...] = (
    (BottleRemark, "said", "remark", "what was said"),
    (BottleRemark, "outcome", "remark", "how it ended"),
    (LotBottle, "place", "bottle", "where it stands"),
    (LotBottle, "gone_to", "bottle", "where it went"),
)


@dataclass(frozen=True)
class NamePlace:
    """A text that holds a part of a name by itself, and what stands around it wherever it does."""

    place: int
    record: str
    what: str
    part: str
    around: str

    json_keys = ("place", "record", "what", "part", ("around", "text"))

    def words(self) -> str:
        """Return it as a line to read."""
        return f"{self.place}. {self.record}, {self.what}: {self.around}"


class PlacesOpen(OakpanelError):
    """Parts of the name stand in texts, and nobody said what is to become of them."""

    def __init__(self, places: tuple[NamePlace, ...], *, changed: bool = False) -> None:
        told = [f"  {place.words()}" for place in places]
        head = CHANGED if changed else "Parts of the name stand here:"
        how = "Nothing was done. Say which are to go: --also all, --also 1,3 or --also none."
        super().__init__("\n".join([head, *told, how]))
        self.places = places


def parts_of(name: str) -> tuple[str, ...]:
    """Return the words of a name, the longest first; initials and single letters tell nobody."""
    words = re.findall(r"\w+", name)
    parts = {word.casefold(): word for word in words if len(word) >= SHORTEST}
    return tuple(sorted(parts.values(), key=lambda word: (-len(word), word)))


def whole_out(remark: BottleRemark, known: Collection[str]) -> None:
    """Take whole names, and ways to reach somebody, out of the remark that they made."""
    for word in known:
        remark.said = without(remark.said, word, SOMEBODY)
        remark.outcome = remark.outcome and without(remark.outcome, word, SOMEBODY)


def name_places(db: Session, names: Collection[str]) -> tuple[NamePlace, ...]:
    """Return every place that holds a part of one of these names, in the order of the records."""
    parts = tuple(dict.fromkeys(part for name in names for part in parts_of(name)))
    found = _found(db, parts)
    return tuple(
        NamePlace(place, f"{kind} {row.id}", what, part, _around(getattr(row, column), part))
        for place, (row, column, kind, what, part) in enumerate(found, start=1)
    )


def take_out(
    db: Session,
    names: Collection[str],
    also: Collection[int] | None,
    shown: Sequence[NamePlace] | None = None,
) -> int:
    """Put `SOMEBODY` in these places, by their numbers in `name_places`; return how many stay.

    *shown* are the places that whoever chose has seen; None where they were numbered elsewhere.

    Raises
    ------
    PlacesOpen
        There are places, and *also* is None: nobody has looked at them yet; or they are no longer
        those of *shown*.
    UnknownRecord
        There is no place of that number.
    """
    places = name_places(db, names)
    if also is None or (shown is not None and tuple(shown) != places):
        if places:
            raise PlacesOpen(places, changed=also is not None)
        return 0
    parts = tuple(dict.fromkeys(part for name in names for part in parts_of(name)))
    found = list(_found(db, parts))
    if unknown := sorted(set(also) - set(range(1, len(found) + 1))):
        raise UnknownRecord(
            f"There is no place {unknown[0]}: {len(found)} hold a part of the name."
        )
    for place, (row, column, _, _, part) in enumerate(found, start=1):
        if place in also:
            setattr(row, column, _word(part).sub(SOMEBODY, getattr(row, column)))
    db.flush()
    return len(found) - len(set(also))


def _found(
    db: Session, parts: Collection[str]
) -> Iterator[tuple[BottleRemark | LotBottle, str, str, str, str]]:
    for table, column, kind, what in _TEXTS:
        rows: Sequence[Any] = db.scalars(select(table).order_by(table.id)).all()
        for row in rows:
            text = getattr(row, column) or ""
            for part in parts:
                if _word(part).search(text):
                    yield row, column, kind, what, part


def _word(part: str) -> re.Pattern[str]:
    """Return what finds a part by itself; a hyphen or an apostrophe ends a word here."""
    return re.compile(rf"(?<!\w){re.escape(part)}(?!\w)", re.IGNORECASE)


def _around(text: str, part: str) -> str:
    """Return the part wherever it stands with what is beside it, each cut at both ends."""
    return " / ".join(_cut(text, found) for found in _word(part).finditer(text))


def _cut(text: str, found: re.Match[str]) -> str:
    begin, end = max(found.start() - AROUND, 0), min(found.end() + AROUND, len(text))
    cut = text[begin:end].replace("\n", " ")
    return f"{'... ' if begin else ''}{cut}{' ...' if end < len(text) else ''}"
