"""The lines of a file of own-word scores: whose word, in which session, known or new."""

from __future__ import annotations

from dataclasses import dataclass, field

from panel.intake.score_glasses import ToldGlass
from panel.intake.score_rows import Cell, CellFault, OwnScoreFile, OwnWordRow
from panel.intake.score_sessions import LoadedGlass, LoadedWord
from panel.store.word_text import word_key

WordPlace = tuple[str, str, int]
"""Session, assessor and the number of the word in the file."""


@dataclass
class OwnLines:
    """Finds or makes the own word of each assessor and session that a cell belongs to."""

    file: OwnScoreFile
    found: dict[WordPlace, LoadedWord | list[CellFault]] = field(default_factory=dict)
    what = "word"

    def lay_out(self, glasses: list[ToldGlass]) -> None:
        """Settle each assessor's words in the order of the file."""
        for cell in self.file.cells:
            glass, row = glasses[cell.glass].glass, self.file.words[cell.line]
            if glass is None or not isinstance(row, OwnWordRow):
                continue
            place = (glass.session.name, glass.assessor, cell.line)
            if place not in self.found:
                self.found[place] = _line(glass, row.word, cell.row)

    def at(self, told: ToldGlass, cell: Cell) -> LoadedWord | list[CellFault] | None:
        """Return the line of a cell, or what is wrong with it."""
        row = self.file.words[cell.line]
        if not isinstance(row, OwnWordRow):
            return row
        if told.glass is None:
            return LoadedWord(row.word, cell.row)  # its score can still be off the line
        return self.found[told.glass.session.name, told.glass.assessor, cell.line]


def _line(glass: LoadedGlass, word: str, row: int) -> LoadedWord | list[CellFault]:
    theirs = glass.session.words.setdefault(glass.assessor, {})
    if word in theirs:
        return theirs[word]
    if glass.session.held_here:
        words = f"{glass.assessor} named no such word in session {glass.session.name}, held here"
        return [CellFault("word", word, words)]
    for other in theirs.values():
        if word_key(other.name) == word_key(word):
            where = f"row {other.first_row}" if other.first_row else "the record"
            words = (
                f"{where} has this word of {glass.assessor} as {other.name!r}: write it the same"
            )
            return [CellFault("word", word, words)]
    theirs[word] = LoadedWord(word, row)
    return theirs[word]
