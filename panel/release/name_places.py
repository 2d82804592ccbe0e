"""Where parts of a name stand in what was written in the house: found, and taken out where asked.

A first name or a surname is often somebody else's too, or a word of the trade; so each place is
shown before anything is taken out. Looked through is what people write freely (`WORDS` of
`panel.records.traces`), but for what somebody wrote who cannot know who made a remark.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import inspect, select

from panel.errors import OakpanelError, UnknownRecord
from panel.records.traces import WORDS, Attribute, reword_holds
from panel.store.bottle_remarks import BottleRemark, LotBottle, RemarkPerson
from panel.store.casks import Filling, HoldChange
from panel.store.draws import Draw
from panel.store.list_edits import ListEdit
from panel.store.own_words import OwnWord
from panel.store.passing import Passing
from panel.store.person_record import without
from panel.store.planted import Planted
from panel.store.sessions import BoothSeat, ServingNote

if TYPE_CHECKING:
    from sqlalchemy.orm import Mapper, Session

SOMEBODY = "somebody"
"""What stands in a text where a name stood."""
SHORTEST, AROUND, WHOLE = 2, 28, 80
"""Letters of a part at least; shown on either side of it; and of a text that is shown whole."""
CHANGED = "What was shown has been changed meanwhile. Parts of the name stand here now:"
_OF_BOTTLES: dict[Attribute, tuple[str, str]] = {
    BottleRemark.said: ("remark", "what was said"),
    BottleRemark.outcome: ("remark", "how it ended"),
    LotBottle.place: ("bottle", "where it stands"),
    LotBottle.gone_to: ("bottle", "where it went"),
}
"""What holds a name most often comes first, under words of its own."""
NOT_LOOKED: tuple[Attribute, ...] = (
    *(ServingNote.text, OwnWord.word, BoothSeat.place),  # said blind, at a booth
    *(Passing.told, Planted.stock, Planted.safety_sheet, Draw.colour),  # of a liquid alone
    *(RemarkPerson.outside_name, RemarkPerson.reach),  # the names of others, whose answer is owed
    *(ListEdit.name, ListEdit.part, ListEdit.before_json, ListEdit.after_json),  # lists, as kept
)
"""Free text in which nobody is looked for who made a remark."""
LOOKED: tuple[Attribute, ...] = (
    *_OF_BOTTLES,
    *(each for each in WORDS if each not in _OF_BOTTLES and each not in NOT_LOOKED),
)
_OF_HOLDS = (Filling.hold_reason, HoldChange.reason, HoldChange.reason_before)
"""What is repeated where a hold was agreed to."""
_KNOWN_BY = ("name", "number", "label", "site")
"""What a record is known by to people, where it has that."""


@dataclass(frozen=True)
class NamePlace:
    """A text that holds a part of a name by itself, and what stands around it wherever it does.

    `around` is as it stands on record, `becomes` as it would read once the name is out of it.
    """

    place: int
    record: str
    what: str
    part: str
    around: str
    becomes: str

    json_keys = ("place", "record", "what", "part", ("around", "text"), "becomes")

    def words(self) -> str:
        """Return it as lines to read."""
        return (
            f"{self.place}. {self.record}, {self.what}: {self.around}\n"
            f"     would become: {self.becomes}"
        )


class PlacesOpen(OakpanelError):
    """Parts of the name stand in texts, and nobody said what is to become of them."""

    def __init__(self, places: tuple[NamePlace, ...], *, changed: bool = False) -> None:
        told = [f"  {place.words()}" for place in places]
        head = CHANGED if changed else "Parts of the name stand here:"
        some = {1: "", 2: ", --also 1, --also 2"}.get(len(places), ", --also 1,3")
        how = f"Nothing was done. Say which are to go: --also all{some} or --also none."
        super().__init__("\n".join([head, *told, how]))
        self.places = places


def parts_of(name: str) -> tuple[str, ...]:
    """Return the words of a name, the longest first; initials and single letters tell nobody."""
    words = re.findall(r"\w+", name)
    parts = {word.casefold(): word for word in words if len(word) >= SHORTEST}
    return tuple(sorted(parts.values(), key=lambda word: (-len(word), word)))


Stood = Mapping[tuple[int, str], str]
"""What a remark said before whole names were taken out, by its number and the text."""


@dataclass(frozen=True)
class TakenOut:
    """Of which texts a part of a name was taken out, and in how many places one was left."""

    texts: tuple[str, ...]
    left: int


def whole_out(remark: BottleRemark, known: Collection[str]) -> Stood:
    """Take whole names, and ways to reach somebody, out of the remark that they made.

    Returns what stood in the texts that are changed by it.
    """
    stood: dict[tuple[int, str], str] = {}
    for text in (BottleRemark.said, BottleRemark.outcome):
        before = getattr(remark, text.key)
        after = before
        for word in known:
            after = after and without(after, word, SOMEBODY)
        if after != before:
            stood[remark.id, text.key] = before
            setattr(remark, text.key, after)
    return stood


def texts_of(remark: BottleRemark, stood: Stood) -> tuple[str, ...]:
    """Return the texts of a remark that whole names were taken out of, as people know them."""
    texts = (BottleRemark.said, BottleRemark.outcome)
    return tuple(_text(remark, text) for text in texts if (remark.id, text.key) in stood)


def name_places(
    db: Session, names: Collection[str], stood: Stood | None = None
) -> tuple[NamePlace, ...]:
    """Return every place that holds a part of one of these names, in the order of the records.

    *stood* is what is shown of a remark that whole names were taken out of already.
    """
    parts = tuple(dict.fromkeys(part for name in names for part in parts_of(name)))
    found: list[NamePlace] = []
    for place, (row, text, part) in enumerate(_found(db, parts), start=1):
        now = _read(row, text)
        remark = isinstance(row, BottleRemark)
        before = (stood or {}).get((row.id, text.key), now) if remark else now
        whole = len(before) <= WHOLE
        around, becomes = _around(before, part, whole), _around(now, part, whole, SOMEBODY)
        found.append(NamePlace(place, _record(row, text), _what(text), part, around, becomes))
    return tuple(found)


def take_out(
    db: Session,
    names: Collection[str],
    also: Collection[int] | None,
    shown: Sequence[NamePlace] | None = None,
    stood: Stood | None = None,
) -> TakenOut:
    """Put `SOMEBODY` in these places, by their numbers in `name_places`; return what was done.

    *shown* are the places that whoever chose has seen; None where they were numbered elsewhere.

    Raises
    ------
    PlacesOpen
        There are places, and *also* is None: nobody has looked at them yet; or they are no longer
        those of *shown*.
    UnknownRecord
        There is no place of that number.
    """
    places = name_places(db, names, stood)
    if also is None or (shown is not None and tuple(shown) != places):
        if places:
            raise PlacesOpen(places, changed=also is not None)
        return TakenOut((), 0)
    parts = tuple(dict.fromkeys(part for name in names for part in parts_of(name)))
    found = list(_found(db, parts))
    if unknown := sorted(set(also) - set(range(1, len(found) + 1))):
        raise UnknownRecord(
            f"There is no place {unknown[0]}: {len(found)} hold a part of the name."
        )
    texts: list[str] = []
    for place, (row, text, part) in enumerate(found, start=1):
        if place in also:
            before = _read(row, text)
            after = _word(part).sub(SOMEBODY, before)
            setattr(row, text.key, after)
            texts.append(_text(row, text))
            if text in _OF_HOLDS:
                reword_holds(db, before, after)
    db.flush()
    return TakenOut(tuple(dict.fromkeys(texts)), len(found) - len(set(also)))


def _found(db: Session, parts: Collection[str]) -> Iterator[tuple[Any, Attribute, str]]:
    """Give every record, its text and the part of a name in it, in the order of the records."""
    for text in LOOKED if parts else ():
        mapper: Mapper[Any] = inspect(text.class_)
        key = [
            mapper.get_property_by_column(column).class_attribute for column in mapper.primary_key
        ]
        for *identity, said in db.execute(
            select(*key, text).where(text.is_not(None)).order_by(*key)
        ):
            for part in parts:
                if _word(part).search(said):
                    yield db.get(mapper, tuple(identity)), text, part


def _read(row: Any, text: Attribute) -> str:
    return str(getattr(row, text.key))


def _what(text: Attribute) -> str:
    return _OF_BOTTLES[text][1] if text in _OF_BOTTLES else text.key.replace("_", " ")


def _text(row: Any, text: Attribute) -> str:
    """Return a text as people know it: its record, and what it is there."""
    return f"{_record(row, text)}, {_what(text)}"


def _record(row: Any, text: Attribute) -> str:
    """Return what a person knows the record by: its kind, and its name or number."""
    if text in _OF_BOTTLES:
        return f"{_OF_BOTTLES[text][0]} {row.id}"
    kind = str(row.__tablename__).replace("_", " ")
    named = next((getattr(row, each) for each in _KNOWN_BY if hasattr(row, each)), None)
    identity = inspect(row).identity or ()
    return f"{kind} {named or ' '.join(map(str, identity))}"


def _word(part: str) -> re.Pattern[str]:
    """Return what finds a part by itself; a hyphen or an apostrophe ends a word here."""
    return re.compile(rf"(?<!\w){re.escape(part)}(?!\w)", re.IGNORECASE)


def _around(text: str, part: str, whole: bool, instead: str | None = None) -> str:
    """Return a text, or the part wherever it stands with what is beside it, each cut at both ends.

    With *instead* it is put in the place of the part, wherever that stands.
    """
    if whole:
        line = text.replace("\n", " ")
        return line if instead is None else _word(part).sub(instead, line)
    return " / ".join(_cut(text, found, part, instead) for found in _word(part).finditer(text))


def _cut(text: str, found: re.Match[str], part: str, instead: str | None) -> str:
    begin, end = max(found.start() - AROUND, 0), min(found.end() + AROUND, len(text))
    cut = text[begin:end].replace("\n", " ")
    cut = cut if instead is None else _word(part).sub(instead, cut)
    return f"{'... ' if begin else ''}{cut}{' ...' if end < len(text) else ''}"
