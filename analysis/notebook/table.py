"""A saved file as text cells, and columns of it as numbers, days and names; every fault is kept."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from difflib import get_close_matches
from pathlib import Path

import pandas as pd

from ..errors import FileError, nearest_words

WORKBOOK = ".xlsx"
FIRST_ROW = 2
"""The row, as a spreadsheet counts, that follows the headings."""
_GUARDED = re.compile(r"'+[=+\-@]")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_NEARLY = 0.8


@dataclass
class SavedTable:
    """A file whose cells are text; an empty one is the empty text.

    Attributes
    ----------
    file
        Its name, for what is said of it.
    cells
        One column a heading.
    problems
        What was found wrong so far, each with row, column and value.
    comma
        Whether decimals have a comma, as in the files of a house that writes them so.
    """

    file: str
    cells: pd.DataFrame
    problems: list[str] = field(default_factory=list)
    comma: bool = False

    @property
    def headings(self) -> list[str]:
        """Headings in their order."""
        return [str(name) for name in self.cells.columns]

    def need(self, wanted: Sequence[str]) -> None:
        """Keep a fault for each heading that is missing, with the one that comes nearest."""
        for name in wanted:
            if name not in self.headings:
                others = [other for other in self.headings if other not in wanted]
                self.problems.append(f"column {name} is missing.{nearest_words(name, others)}")

    def refuse_others(self, known: Collection[str]) -> None:
        """Keep a fault for each heading that is not known."""
        for name in self.headings:
            if name not in known:
                self.problems.append(f"there is no column {name!r}.{nearest_words(name, known)}")

    def refuse_slips(self, known: Collection[str]) -> None:
        """Keep a fault for each heading that reads like a known one and is none."""
        for name in self.headings:
            plain = name.casefold().replace(" ", "_")
            if name not in known and get_close_matches(plain, known, 1, _NEARLY):
                words = nearest_words(plain, known)
                self.problems.append(f"column {name!r} reads like a misspelt one.{words}")

    def raise_faults(self) -> None:
        """Refuse the file if anything was wrong with it."""
        if self.problems:
            raise FileError(self.file, self.problems)

    def text(self, name: str) -> pd.Series:
        """Names of a column; missing where a cell is empty."""
        column = self.cells[name]
        return column.where(column != "", None)

    def number(self, name: str) -> pd.Series:
        """Numbers of a column; missing where a cell is empty."""
        read = _comma_number if self.comma else _number
        return self._each(name, read, "is no number: write it as 12.5").astype("float64")

    def day(self, name: str) -> pd.Series:
        """Days of a column; missing where a cell is empty."""
        return pd.to_datetime(self._each(name, _day, "is no day: write it as 2026-03-14"))

    def choice(self, name: str, known: Collection[str], default: str) -> pd.Series:
        """One of some words; the default where a cell is empty."""
        column = self.cells[name].where(self.cells[name] != "", default)
        for value in column[~column.isin(list(known))].drop_duplicates():
            row = int((column == value).to_numpy().argmax())
            self.problems.append(self._place(row, name) + nearest_words(str(value), known))
        return column

    def _each(self, name: str, read: Callable[[str], object], wrong: str) -> pd.Series:
        """Read each different text of a column once."""
        codes, texts = pd.factorize(self.cells[name])
        values: list[object] = []
        for code, text in enumerate(texts):
            try:
                values.append(read(text) if text else None)
            except ValueError:
                values.append(None)
                self.problems.append(f"{self._place(int((codes == code).argmax()), name)} {wrong}")
        return pd.Series(values, dtype="object").take(codes).set_axis(self.cells.index)

    def _place(self, row: int, name: str) -> str:
        return f"row {row + FIRST_ROW}, column {name}: {self.cells[name].iloc[row]!r}"


def read_table(path: str | Path) -> SavedTable:
    """Return the cells of a CSV file or of the first sheet of a workbook.

    Raises
    ------
    FileError
        It is not there, or is no table.
    """
    place = Path(path)
    try:
        comma = place.suffix.casefold() != WORKBOOK and _has_semicolons(place)
        raw = _workbook(place) if place.suffix.casefold() == WORKBOOK else _plain(place, comma)
    except OSError as error:
        raise FileError(place.name, [error.strerror or str(error)]) from error
    except (ValueError, KeyError) as error:
        raise FileError(place.name, [f"it is no table as the program saves it: {error}"]) from error
    headings = [clean(str(name)) for name in raw.iloc[0]] if len(raw) else []
    cells = raw.iloc[1:].reset_index(drop=True).set_axis(headings, axis=1)
    table = SavedTable(place.name, cells, comma=comma)
    twice = sorted({name for name in headings if headings.count(name) > 1})
    if twice or not headings or "" in headings:
        why = f"the heading {twice[0]!r} stands twice" if twice else "a column has no heading"
        raise FileError(place.name, [why])
    table.cells = table.cells.apply(_cleaned)
    return table


def _plain(place: Path, comma: bool) -> pd.DataFrame:
    return pd.read_csv(
        place,
        sep=";" if comma else ",",
        header=None,
        dtype=str,
        keep_default_na=False,
        na_filter=False,
        encoding="utf-8-sig",
    )


def _has_semicolons(place: Path) -> bool:
    """Tell whether semicolons stand between the headings: then a decimal may have a comma."""
    with place.open(encoding="utf-8-sig") as file:
        first = file.readline()
    return first.count(";") > first.count(",")


def _workbook(place: Path) -> pd.DataFrame:
    cells = pd.read_excel(
        place,
        header=None,
        dtype=object,
        keep_default_na=False,
        na_values=[],
        engine="openpyxl",  # whatever other reader is installed beside it
    )
    return cells.map(_cell_text)


def _cell_text(value: object) -> str:
    if value is None or value is pd.NaT:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, float):
        return "" if value != value else f"{value:.17g}"  # noqa: PLR0124  (not a number)
    return str(value)


def _cleaned(column: pd.Series) -> pd.Series:
    codes, texts = pd.factorize(column)
    cleaned = pd.Series([clean(str(text)) for text in texts], dtype="object")
    return cleaned.take(codes).set_axis(column.index)


def clean(raw: str) -> str:
    """Return a cell without the blanks around it and without the guard before a sign."""
    text = unicodedata.normalize("NFC", raw.strip())
    return text[1:] if _GUARDED.match(text) else text


def _number(text: str) -> float:
    if _NUMBER.fullmatch(text) is None:
        raise ValueError(text)
    return float(text)


def _comma_number(text: str) -> float:
    return _number(text.replace(",", ".") if text.count(",") == 1 else text)


def _day(text: str) -> pd.Timestamp:
    if _DAY.fullmatch(text) is None:
        raise ValueError(text)
    return pd.Timestamp(text)
