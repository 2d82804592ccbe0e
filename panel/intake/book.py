"""What all sheets of a workbook share: their names, its texts, and which formats are days."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from panel.figures import in_digits
from panel.intake.container import Container, Damaged, beside, each_tag, local, parser

BOOK = "xl/workbook.xml"
RELATIONS = "xl/_rels/workbook.xml.rels"
BUILT_IN_DAYS = frozenset({*range(14, 23), *range(27, 37), *(45, 46, 47), *range(50, 59)})
"""Numbers of formats that every workbook has unsaid; ECMA-376 part 1, 18.8.30."""
NOT_THE_FORMAT = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?![hms]+\])[^\]]*\]', re.IGNORECASE)
A_MOMENT = re.compile(r"[dmyhs]", re.IGNORECASE)
ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
FROM_1900, FROM_1904 = datetime(1899, 12, 30), datetime(1904, 1, 1)
MOST_STRINGS = 5_000_000


@dataclass(frozen=True)
class Book:
    """A workbook without its cells. `days` are the styles under which a number is a moment."""

    sheets: dict[str, str]
    texts: list[str]
    days: frozenset[str]
    epoch: datetime

    def moment(self, serial: float) -> datetime | time | None:
        """Return the day (or the time of day) that a number stands for, None if there is none."""
        try:
            moment = self.epoch + timedelta(milliseconds=round(serial * 86_400_000))
        except (OverflowError, ValueError):
            return None
        return moment.time() if 0 <= serial < 1 else moment


def read_book(container: Container) -> Book:
    """Read what the sheets share.

    Raises
    ------
    Damaged
        It is no workbook of Excel, or a part is not whole.
    """
    if BOOK not in container:
        raise Damaged(
            "it cannot be read: an archive, but no Excel workbook; save the table as .xlsx or CSV "
            "UTF-8"
        )
    relations = _relations(container)
    sheets, epoch = _sheets(container, relations)
    texts = _of_kind(relations, "sharedStrings")
    styles = _of_kind(relations, "styles")
    return Book(
        sheets,
        _texts(container, texts) if texts is not None else [],
        _day_styles(container, styles) if styles is not None else frozenset(),
        epoch,
    )


def _relations(container: Container) -> dict[str, tuple[str, str]]:
    """Return kind and part of each relation by its id."""
    found: dict[str, tuple[str, str]] = {}

    def tell(name: str, attributes: dict[str, str]) -> None:
        if local(name) == "Relationship":
            part = beside(BOOK, attributes.get("Target", ""))
            kind = attributes.get("Type", "").rpartition("/")[2]
            found[attributes.get("Id", "")] = kind, part

    each_tag(container, RELATIONS, tell)
    return found


def _of_kind(relations: dict[str, tuple[str, str]], kind: str) -> str | None:
    return next((part for found, part in relations.values() if found == kind), None)


def _sheets(
    container: Container, relations: dict[str, tuple[str, str]]
) -> tuple[dict[str, str], datetime]:
    """Return where each sheet of values lies, in the workbook's order, and its first day."""
    found: dict[str, str] = {}
    epoch = FROM_1900

    def tell(name: str, attributes: dict[str, str]) -> None:
        nonlocal epoch
        if local(name) == "workbookPr" and attributes.get("date1904") in {"1", "true"}:
            epoch = FROM_1904
        elif local(name) == "sheet":
            ids = [value for key, value in attributes.items() if local(key) == "id"]
            kind, part = relations.get(ids[0] if ids else "", ("", ""))
            if kind == "worksheet":
                found[attributes.get("name", "")] = part

    each_tag(container, BOOK, tell)
    if not found:
        raise Damaged("the workbook has no sheet of values: save it again as .xlsx")
    return found, epoch


def _day_styles(container: Container, part: str) -> frozenset[str]:
    own: dict[str, str] = {}
    formats: list[str] = []
    where = ""

    def tell(name: str, attributes: dict[str, str]) -> None:
        nonlocal where
        tag = local(name)
        if tag in {"cellXfs", "cellStyleXfs", "dxfs", "cellStyles"}:
            where = tag
        elif tag == "numFmt" and not where:
            own[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")
        elif tag == "xf" and where == "cellXfs":
            formats.append(attributes.get("numFmtId", ""))

    each_tag(container, part, tell)
    return frozenset(str(i) for i, number in enumerate(formats) if _is_day(number, own))


def _is_day(number: str, own: dict[str, str]) -> bool:
    if number in own:
        return is_day_format(own[number])
    return number.isdecimal() and len(number) < 4 and int(number) in BUILT_IN_DAYS


def is_day_format(code: str) -> bool:
    """Say whether a number shown in this format is a day or a time."""
    return A_MOMENT.search(NOT_THE_FORMAT.sub("", code.partition(";")[0])) is not None


class Pieces:
    """The text inside tags called `t`, without the reading aids of `rPh`."""

    def __init__(self) -> None:
        self.whole: list[str] = []
        self._heard: list[str] | None = None
        self._aids = 0

    def start(self, tag: str) -> None:
        """Hear what follows an opening tag."""
        if tag == "rPh":
            self._aids += 1
        elif tag == "t" and not self._aids:
            self._heard = self.whole

    def end(self, tag: str) -> None:
        """Hear no more."""
        if tag == "rPh":
            self._aids -= 1
        elif tag == "t":
            self._heard = None

    def text(self, piece: str) -> None:
        """Keep a piece of text."""
        if self._heard is not None:
            self._heard.append(piece)

    def taken(self) -> str:
        """Return the text so far and begin anew."""
        text = unescaped("".join(self.whole))
        self.whole.clear()
        return text


def _texts(container: Container, part: str) -> list[str]:
    texts: list[str] = []
    pieces = Pieces()

    def start(name: str, _attributes: dict[str, str]) -> None:
        pieces.start(local(name))

    def end(name: str) -> None:
        tag = local(name)
        pieces.end(tag)
        if tag == "si":
            if len(texts) >= MOST_STRINGS:
                raise Damaged(
                    f"the workbook holds over {in_digits(MOST_STRINGS, ',')} "
                    "texts: save it in parts"
                )
            texts.append(pieces.taken())

    made = parser()
    made.StartElementHandler = start
    made.EndElementHandler = end
    made.CharacterDataHandler = pieces.text
    for piece in container.pieces(part):
        made.Parse(piece)
    made.Parse(b"", True)
    return texts


def unescaped(text: str) -> str:
    """Return a text with the signs that a workbook writes as `_x000D_`."""
    if "_x" not in text:
        return text
    plain = ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)
    return plain.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")
