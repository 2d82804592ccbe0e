"""Bringing in a whole folder: each file checked whole before a row of it is written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.columns_form import ColumnsForm
from panel.desk.database_forms import NO_YES, path_in
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field, TextLine
from panel.desk.files_page import PathSuggester
from panel.desk.folder_kinds_form import LEFT_OUT, FolderKindsForm
from panel.desk.form import finishing
from panel.desk.load_form import asking
from panel.desk.pin_slip import proved
from panel.desk.slip import Confirm
from panel.desk.text_page import TextPage
from panel.errors import EntriesAtFault, IntakeError
from panel.intake.kinds import Kind
from panel.intake.said import Said
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.intake.asking import Question
    from panel.intake.folder import KindFile
    from panel.intake.folder_kinds import FolderFile
    from panel.intake.report import LoadReport

NONE_THERE = "there is no table in it: no file that ends in .csv or .xlsx"
ASKS = "Ctrl+s in the form below"
"""What asks once more what the headings of a file mean."""
HOW = (
    "All are checked before a row of any is written. With a fault in one of them nothing is "
    "written, and the faults of all are shown."
)


class FolderForm(DeedForm):
    """Which folder; then which files of it, in which order."""

    BINDINGS: ClassVar[list[BindingType]] = [
        finishing("Bring in", "Show which files, then bring them in")
    ]
    PLACE = "sessions"
    TITLE_WORDS = "Bring in a whole folder"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("folder", "Folder", "CSV and Excel files; right completes", ".", wide=True),
        Field("sure", "Odd values", "yes: looked at, they are so", choices=NO_YES),
    )

    @dataclass
    class Sorted(Message):
        """The kinds of the files were looked at: they are told by the names, or to be asked."""

        folder: Path
        files: tuple[FolderFile, ...]

    @dataclass
    class Asked(Message):
        """The files were looked at; of one something has to be asked, or of none."""

        files: tuple[KindFile, ...]
        path: Path | None = None
        question: Question | None = None

    def __init__(self) -> None:
        super().__init__()
        self.told: list[str] = []
        self.said: dict[Path, Said] = {}
        """What was said of each file that does not tell all itself."""
        self.faulty = 0
        self.kinds: dict[Path, str] = {}
        """What was said of the kind of each file, of whichever folder."""
        self.chosen: tuple[KindFile, ...] = ()
        self.anew: set[Path] = set()
        """Files with faults whose columns were chosen: it may be the choice that is wrong."""
        self.passed: set[Path] = set()
        """Files of which somebody did not say it; their faults tell what is asked."""

    def set_up(self) -> None:
        """Complete the names of folders."""
        super().set_up()
        entry = self.lines[0].entry
        entry.focus()
        if isinstance(entry, TextLine):
            entry.suggester = PathSuggester(frozenset())

    def look(self, values: dict[str, str]) -> Path:
        """Return the folder, in which some table lies."""
        from panel.intake.folder_kinds import is_table

        folder = path_in(values, "folder", "name a folder")
        try:
            there = any(is_table(path) for path in folder.iterdir())
        except OSError as error:
            wrong = f"it cannot be looked at: {error.strerror}"
            raise EntriesAtFault({"folder": wrong}) from None
        if not there:
            raise EntriesAtFault({"folder": NONE_THERE})
        return folder

    def action_keep(self) -> None:
        """Ask what the files do not tell, one after the other, then whether to bring them in."""
        try:
            folder = self.look(self.values())
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
            return
        self.say("Looking at the files ...")
        self.sort_out(folder)

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def sort_out(self, folder: Path) -> None:
        """Find the kind of each file."""
        from panel.intake.folder_kinds import folder_files

        self.hand_over(self.Sorted(folder, folder_files(self.desk.store, folder)))

    def on_folder_form_sorted(self, message: Sorted) -> None:
        """Ask which kinds they are, where not every name tells it."""
        self.say("")
        kinds = {file.path: self.kinds.get(file.path, seems(file)) for file in message.files}
        if all(file.sure for file in message.files):
            self.take(kinds)
            return

        def told(kinds: dict[Path, str] | None) -> None:
            if kinds is not None:
                self.kinds |= kinds
                self.take(kinds)

        self.app.push_screen(FolderKindsForm(self.PLACE, message.folder, kinds), told)

    def take(self, kinds: dict[Path, str]) -> None:
        """Look at the files that are of a kind."""
        from panel.intake.folder_kinds import in_their_order

        known = {path: Kind(kind) for path, kind in kinds.items() if kind in set(Kind)}
        self.chosen = in_their_order(known)
        self.look_at(self.chosen)

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def look_at(self, files: tuple[KindFile, ...]) -> None:
        """Find the first file of which something has to be asked."""
        from panel.intake.asking import question_of

        for each in files:
            if each.path in self.passed:
                continue
            self.reads(each)
            said = self.said.get(each.path, Said())
            try:
                question = question_of(
                    *(self.desk.store, each.kind, each.path),
                    now=self.desk.now(),
                    sheet=None,
                    said=said,
                )
            except IntakeError:
                continue  # loading tells why it cannot be read, with all other faults
            if question.wanting or question.open_dates or each.path in self.anew:
                self.post_message(self.Asked(files, each.path, question))
                return
        self.post_message(self.Asked(files))

    def on_folder_form_asked(self, message: Asked) -> None:
        """Ask it, and look at the files again; with nothing left to ask, bring them in."""
        self.say("")
        path, question = message.path, message.question
        if path is None or question is None:
            self.agree(message.files)
            return

        page = asking(self.PLACE, question, self.said.get(path, Said()))
        if path in self.anew:
            page = ColumnsForm(self.PLACE, question, self.said[path])
        self.anew.discard(path)

        def told(said: Said | None) -> None:
            if said is None:
                self.passed.add(path)
            else:
                self.said[path] = said
            self.look_at(message.files)

        if page is not None:
            self.app.push_screen(page, told)

    def agree(self, files: tuple[KindFile, ...]) -> None:
        """Ask, with the files in their order; assessors bring roles, which only a lead gives."""
        from panel.words.answers import paragraph

        self.passed.clear()

        def answered(agreed: bool | None) -> None:
            if agreed and any(each.kind is Kind.ASSESSORS for each in files):
                proved(self.desk, Act.ROLES, self._check)
            elif agreed:
                self._check()

        listed = [f"{n:>2}. {each.path.name}{as_kind(each)}" for n, each in enumerate(files, 1)]
        lines = [*listed, "", *paragraph(HOW, 70)]
        self.app.push_screen(Confirm("These are brought in, in this order", lines), answered)

    def do(self, values: dict[str, str]) -> str:
        """Load them."""
        from panel.intake.folder import load_folder

        desk, files = self.desk, self.chosen
        reports = load_folder(
            desk.store,
            files,
            now=desk.now(),
            by=desk.by,
            tell=self.reads,
            said=self.said,
            sure=values["sure"] == "yes",
        )
        self.told = said_of(reports)
        failed = {file.path for file, each in zip(files, reports, strict=True) if each.problems}
        self.anew = {path for path in failed if path in self.said and self.said[path].columns}
        self.faulty = faulty = sum(bool(report.problems) for report in reports)
        if faulty:
            return f"Nothing was written: {faulty} of {len(files)} files have faults."
        return f"{len(reports)} files are in the records."

    def reads(self, file: KindFile) -> None:
        """Say which file is read."""
        self.app.call_from_thread(self.say, f"Reading {file.path.name} ...")

    def leave(self) -> None:
        """Show what came of each file; the form stays below where the files are to be mended."""
        if self.faulty:
            faults = TextPage(self.PLACE, "Nothing was written", self.told, file="faults.txt")
            self.app.push_screen(faults)
            return
        self.app.switch_screen(TextPage(self.PLACE, "Brought in", self.told, file="brought-in.txt"))


def seems(file: FolderFile) -> str:
    """Return what a file seems to be as the form shows it, '' where nobody knows."""
    if file.kind is None:
        return LEFT_OUT if file.sure else ""
    return file.kind.value


def as_kind(file: KindFile) -> str:
    """Return as which kind a file comes in that is not called after it."""
    return "" if file.path.stem.casefold() == file.kind else f" as {file.kind.value}"


def said_of(reports: Sequence[LoadReport]) -> list[str]:
    """Return what came of each file; with faults in any, only these, for nothing was written."""
    from panel.words.load_words import fault_lines, load_lines, question_lines

    faulty = [report for report in reports if report.problems]
    if faulty:
        return [line for report in faulty for line in [*fault_lines(report, asks=ASKS), ""]]
    told = (
        [*load_lines(report, check=False), *question_lines(report, at_desk=True), ""]
        for report in reports
    )
    return [
        line
        for report, lines in zip(reports, told, strict=True)
        for line in [f"{Path(report.file).name}:", *lines]
    ][:-1]
