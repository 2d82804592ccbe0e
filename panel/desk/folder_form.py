"""Bringing in a whole folder: each file checked whole before a row of it is written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from panel.desk.database_forms import path_in
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field, TextLine
from panel.desk.files_page import PathSuggester
from panel.desk.form import finishing
from panel.desk.pin_slip import proved
from panel.desk.slip import Confirm
from panel.desk.text_page import TextPage
from panel.errors import EntriesAtFault
from panel.intake.kinds import Kind
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.intake.folder import KindFile
    from panel.intake.report import LoadReport

NONE_THERE = "no file in it is called after a kind, such as makes.csv or casks.xlsx"
HOW = (
    "Each is checked whole before a row of it is written. The first with faults stops: they are "
    "shown, and what came before it stays."
)


class FolderForm(DeedForm):
    """Which folder; then which files of it, in which order."""

    BINDINGS: ClassVar[list[BindingType]] = [
        finishing("Bring in", "Show which files, then bring them in")
    ]
    PLACE = "sessions"
    TITLE_WORDS = "Bring in a whole folder"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("folder", "Folder", "with makes.csv, casks.csv ...; right completes", ".", wide=True),
    )

    def __init__(self) -> None:
        super().__init__()
        self.told: list[str] = []

    def set_up(self) -> None:
        """Complete the names of folders."""
        super().set_up()
        entry = self.lines[0].entry
        entry.focus()
        if isinstance(entry, TextLine):
            entry.suggester = PathSuggester(frozenset())

    def look(self, values: dict[str, str]) -> tuple[KindFile, ...]:
        """Return the files that are called after a kind."""
        from panel.intake.folder import kind_files

        folder = path_in(values, "folder", "name a folder")
        try:
            files = kind_files(folder)
        except OSError as error:
            wrong = f"it cannot be looked at: {error.strerror}"
            raise EntriesAtFault({"folder": wrong}) from None
        if not files:
            raise EntriesAtFault({"folder": NONE_THERE})
        return files

    def action_keep(self) -> None:
        """Ask, with the files in their order; assessors bring roles, which only a lead gives."""
        from panel.words.answers import paragraph

        try:
            files = self.look(self.values())
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
            return

        def answered(agreed: bool | None) -> None:
            if agreed and any(each.kind is Kind.ASSESSORS for each in files):
                proved(self.desk, Act.ROLES, self._check)
            elif agreed:
                self._check()

        listed = [f"{n:>2}. {each.path.name}" for n, each in enumerate(files, 1)]
        lines = [*listed, "", *paragraph(HOW, 70)]
        self.app.push_screen(Confirm("These are brought in, in this order", lines), answered)

    def do(self, values: dict[str, str]) -> str:
        """Load them."""
        from panel.intake.folder import load_folder

        desk, files = self.desk, self.look(values)
        reports = load_folder(desk.store, files, now=desk.now(), by=desk.by, tell=self.reads)
        self.told = said_of(reports, [each.path for each in files[len(reports) :]])
        stopped = bool(reports[-1].problems)
        return f"{len(reports) - stopped} of {len(files)} files are in the records."

    def reads(self, file: KindFile) -> None:
        """Say which file is read."""
        self.app.call_from_thread(self.say, f"Reading {file.path.name} ...")

    def leave(self) -> None:
        """Show what came of each file."""
        self.app.switch_screen(TextPage(self.PLACE, "Brought in", self.told, file="brought-in.txt"))


def said_of(reports: Sequence[LoadReport], unread: Sequence[Path]) -> list[str]:
    """Return what came of each file, the faults of the one that stopped, and what was not read."""
    from panel.words.load_words import fault_lines, load_lines, question_lines

    lines: list[str] = []
    for report in reports:
        if report.problems:
            lines += ["", *fault_lines(report)]
        else:
            lines += [*load_lines(report, check=False), *question_lines(report)]
    if unread:
        lines += ["", f"Not read: {', '.join(path.name for path in unread)}"]
    return lines
