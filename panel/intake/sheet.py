"""The cells of one sheet of a workbook, row by row, as text."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date, datetime, time
from functools import partial

from panel.figures import in_digits
from panel.intake.book import Book, Pieces, unescaped
from panel.intake.container import Container, Damaged, parser
from panel.intake.table import MOST_CELLS, MOST_COLUMNS, BrokenCell, TypedNumber

PLACE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,4})?")
WHOLE = re.compile(r"[0-9]{1,7}")
LAST_ROW = 1_048_576
LARGEST_EXACT = 1e15
MIDNIGHT = time()
HAS_ERROR = "the workbook has an error here: mend its formula or type the value"
NEVER_COMPUTED = "a formula that was never computed: open the workbook in its program and save it"
NO_NUMBER = "the workbook calls this a number and it is none: type the value again"
NO_TEXT = "the workbook points to a text that it does not hold: type the value again"
Row = tuple[int, list[str]]


def read_rows(container: Container, part: str, book: Book) -> Iterator[Row]:
    """Give the rows that hold something, each with its number and up to its last cell.

    Raises
    ------
    Damaged
        The part is not whole, its cells are out of order, or one lies far outside any table.
    """
    sheet = _Sheet(book)
    made = parser()
    made.StartElementHandler = sheet.start
    made.EndElementHandler = sheet.end
    made.CharacterDataHandler = sheet.text
    for piece in container.pieces(part):
        made.Parse(piece)
        yield from sheet.finished()
    made.Parse(b"", True)
    yield from sheet.finished()


class _Sheet:
    """Hears the tags of a sheet and builds its rows."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.opening: dict[str, Callable[[dict[str, str]], None]] = {}
        self.closing: dict[str, Callable[[], None]] = {}
        self.rows: list[Row] = []
        self.cells = 0
        self.number, self.digits = 0, "0"
        self.row: list[str] = []
        self.column = -1
        self.columns: dict[str, int] = {}
        self.kind, self.style = "n", ""
        self.formula = False
        self.heard: list[str] | None = None
        self.value: str | None = None
        self.inline = Pieces()

    def finished(self) -> Iterator[Row]:
        """Give the rows that are whole, once."""
        rows, self.rows = self.rows, []
        yield from rows

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Hear an opening tag."""
        if not self.opening:
            self._begin(name)
        hear = self.opening.get(name)
        if hear is not None:
            hear(attributes)

    def end(self, name: str) -> None:
        """Hear a closing tag."""
        hear = self.closing.get(name)
        if hear is not None:
            hear()

    def text(self, piece: str) -> None:
        """Hear a text between tags."""
        if self.heard is not None:
            self.heard.append(piece)
        else:
            self.inline.text(piece)

    def _begin(self, name: str) -> None:
        prefix, colon, tag = name.rpartition(":")
        if tag != "worksheet":
            raise Damaged("the sheet is no sheet of values: save the workbook again as .xlsx")
        opening = {"c": self._begin_cell, "v": self._begin_value, "row": self._begin_row}
        closing = {"c": self._end_cell, "v": self._end_value, "row": self._end_row}
        before = f"{prefix}{colon}"
        self.opening = {f"{before}{tag}": hear for tag, hear in opening.items()}
        self.closing = {f"{before}{tag}": hear for tag, hear in closing.items()}
        self.opening[f"{before}f"] = self._begin_formula
        for tag in ("t", "rPh"):
            self.opening[f"{before}{tag}"] = partial(self._begin_text, tag)
            self.closing[f"{before}{tag}"] = partial(self.inline.end, tag)

    def _begin_formula(self, _attributes: dict[str, str]) -> None:
        self.formula = True

    def _begin_text(self, tag: str, _attributes: dict[str, str]) -> None:
        self.inline.start(tag)

    def _begin_value(self, _attributes: dict[str, str]) -> None:
        self.heard = []

    def _end_value(self) -> None:
        if self.heard is not None:
            self.value, self.heard = "".join(self.heard), None

    def _end_row(self) -> None:
        if self.row:
            self.rows.append((self.number, self.row))

    def _begin_row(self, attributes: dict[str, str]) -> None:
        before, number = self.number, attributes.get("r")
        if number is not None and not WHOLE.fullmatch(number):
            raise Damaged(f"a row of the sheet has the number {number[:20]!r}: save it again")
        self.number = before + 1 if number is None else int(number)
        if not before < self.number <= LAST_ROW:
            raise Damaged(f"row {self.number} of the sheet is out of its order: save it again")
        self.digits = str(self.number)
        self.row, self.column = [], -1

    def _begin_cell(self, attributes: dict[str, str]) -> None:
        before = self.column
        place = attributes.get("r")
        self.column = before + 1 if place is None else self._column(place)
        if self.column <= before:
            raise Damaged(f"cell {place} of the sheet is out of its order: save it again")
        self.kind, self.style = attributes.get("t", "n"), attributes.get("s", "")
        self.formula, self.value = False, None
        if self.inline.whole:
            self.inline.whole.clear()

    def _column(self, place: str) -> int:
        letters = place.removesuffix(self.digits)
        known = self.columns.get(letters)
        if known is None:
            found = PLACE.fullmatch(place)
            if found is None or found[1] != letters:
                raise Damaged(f"cell {place[:20]!r} stands in row {self.number}: save it again")
            known = self.columns[letters] = _column_number(letters)
        return known

    def _end_cell(self) -> None:
        text = self._cell()
        if not text:
            return
        if self.column >= MOST_COLUMNS:
            raise Damaged(
                f"row {self.number} has something in its column "
                f"{in_digits(self.column + 1, ',')}; at most "
                f"{in_digits(MOST_COLUMNS, ',')} columns are read: delete what lies outside "
                "the table"
            )
        if self.column > len(self.row):
            self.row += [""] * (self.column - len(self.row))
        self.row.append(text)
        self.cells += 1
        if self.cells > MOST_CELLS:
            raise Damaged(
                f"the sheet has over {in_digits(MOST_CELLS, ',')} cells: save it in parts"
            )

    def _cell(self) -> str:
        value, kind = self.value, self.kind
        if kind == "inlineStr":
            return self.inline.taken()
        if kind == "e":
            return broken(value or "an error", HAS_ERROR)
        if value is None:
            return broken("formula", NEVER_COMPUTED) if self.formula else ""
        if kind == "s":
            return self._shared(value)
        if kind == "n":
            return self._number(value)
        return _other(kind, value)

    def _shared(self, value: str) -> str:
        number = int(value) if WHOLE.fullmatch(value.strip()) else LAST_ROW * LAST_ROW
        texts = self.book.texts
        return texts[number] if number < len(texts) else broken(value[:20], NO_TEXT)

    def _number(self, value: str) -> str:
        text = value.strip()
        if not text:
            return broken("formula", NEVER_COMPUTED) if self.formula else ""
        if not NUMBER.fullmatch(text):
            return broken(text[:40], NO_NUMBER)
        number = float(text)
        if self.style in self.book.days:
            moment = self.book.moment(number)
            if moment is not None:
                return cell_text(moment)
        return number_text(number)


def _column_number(letters: str) -> int:
    """Return the column (from 0) that letters such as AB name."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1


def broken(text: str, words: str) -> BrokenCell:
    """Return a cell that says what is wrong with it."""
    cell = BrokenCell(text)
    cell.words = words
    return cell


def _other(kind: str, value: str) -> str:
    if kind == "b":
        return "yes" if value.strip() in {"1", "true"} else "no"
    if kind == "d":
        try:
            return cell_text(datetime.fromisoformat(value.strip()))
        except ValueError:
            return value
    return unescaped(value)


def cell_text(value: datetime | date | time) -> str:
    """Return a day as text in ISO form; a moment that is no midnight keeps its time."""
    if isinstance(value, datetime):
        return str(value.date() if value.time() == MIDNIGHT else value)
    return str(value)


def number_text(number: float) -> str:
    """Return a number as text, a whole one without a point."""
    whole = number.is_integer() and abs(number) < LARGEST_EXACT
    return TypedNumber(int(number) if whole else repr(number))
