"""Bringing records in from a file: checked first, kept only on a key."""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.message import Message

from panel.desk.columns_form import ColumnsForm, DatesForm
from panel.desk.database_forms import NO_YES, path_in
from panel.desk.entries import Field
from panel.desk.file_field import FileForm
from panel.desk.form import finishing
from panel.desk.keys import key
from panel.desk.pin_slip import proved
from panel.desk.text_page import TextPage
from panel.errors import EntriesAtFault, IntakeError
from panel.figures import in_digits
from panel.intake.kinds import Kind
from panel.intake.letters import Letters
from panel.intake.said import Said
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.intake.asking import Question
    from panel.intake.load import Progress
    from panel.intake.report import LoadReport

HOLDS = {
    Kind.MAKES: "new make spirit: name, peat, site",
    Kind.CASKS: "casks and their fillings",
    Kind.EVENTS: "what happened to fillings: moved, topped, re-racked, emptied",
    Kind.REGAUGES: "what was measured: litres and strength",
    Kind.DRAWS: "samples drawn from casks",
    Kind.LEXICON: "the words that are scored",
    Kind.ASSESSORS: "people by their codes, with roles",
    Kind.TARGETS: "what releases should be like, a line a descriptor",
    Kind.SCORES: "past sessions on the lexicon",
    Kind.OWN_SCORES: "past sessions in own words",
    Kind.ANSWERS: "answers of sets, compared with those that are kept",
    Kind.TRACES: "traces, compared with those that are kept",
    Kind.STAGES: "scores by stages, compared with those that are kept",
}
SAID_EVERY_S = 0.2


@dataclass(frozen=True)
class Wanted:
    """Which file is read, and how."""

    kind: Kind
    path: Path
    create: bool
    update: bool
    sheet: str | None
    said: Said = field(default_factory=Said)
    sure: bool = False


class LoadForm(FileForm):
    """Kind and file. Keeping it checks the file; nothing is written yet."""

    BINDINGS: ClassVar[list[BindingType]] = [
        finishing("Check", "Check the file; nothing is written yet")
    ]
    PLACE = "house"
    TITLE_WORDS = "Bring records in"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("kind", "Kind", choices=tuple(kind.value for kind in Kind)),
        Field("file", "File", "CSV or Excel; right completes, f4 lists", wide=True),
        Field("sheet", "Sheet", "of a workbook with several; may be empty"),
        Field("create", "Unknown names", "yes makes people, samples, words", choices=NO_YES),
        Field("update", "Other scores", "yes replaces; the old one is kept", choices=NO_YES),
        Field("letters", "Letters", "if it is not UTF-8", choices=("as it shows", *Letters)),
        Field("sure", "Odd values", "yes: looked at, they are so", choices=NO_YES),
    )

    @dataclass
    class Checked(Message):
        """The file was read."""

        wanted: Wanted
        report: LoadReport
        question: Question | None

    def __init__(self, kind: str = "", place: str = "house") -> None:
        super().__init__({"kind": kind} if kind else {})
        self.PLACE = place  # type: ignore[misc]
        self.said: dict[tuple[Kind, Path], Said] = {}
        """What was said of each file, until it is kept with it."""

    def set_up(self) -> None:
        """Say what the kind holds."""
        super().set_up()
        self.on_choice_line_changed()
        self.lines[1 if self.given else 0].entry.focus()

    def on_choice_line_changed(self) -> None:
        """Say what the kind holds."""
        self.lines[0].hint = HOLDS[Kind(self.values()["kind"])]
        self.lines[0].show_hint(self.lines[0].hint)

    def taken(self) -> None:
        """A file that bears the name of a kind is taken for one."""
        stem = Path(self.values()["file"]).stem.casefold()
        if stem in set(Kind):
            self.lines[0].entry.value = stem

    def look(self, values: dict[str, str]) -> Wanted:
        """Return what is wanted."""
        path = path_in(values, "file", "name a file")
        if not path.exists():
            raise EntriesAtFault({"file": "there is no such file"})
        kind, sure = Kind(values["kind"]), values["sure"] == "yes"
        create, update = values["create"] == "yes", values["update"] == "yes"
        letters = next((each for each in Letters if each == values["letters"]), None)
        said = replace(self.said.get((kind, path), Said()), letters=letters)
        return Wanted(kind, path, create, update, values.get("sheet"), said, sure)

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Check the file; nothing is written."""
        wanted = self.look(values)
        try:
            report = loaded(self, wanted, check=True, by="")
            question = asked(self, wanted) if report.problems else None
        except IntakeError as error:
            self.hand_over(self.Refused({"file": str(error)}))
            return
        self.post_message(self.Checked(wanted, report, question))

    def on_load_form_checked(self, message: Checked) -> None:
        """Ask what the file does not tell; then show the faults, or what would be written."""
        self.say("")
        question = message.question
        page = asking(self.PLACE, question, message.wanted.said) if question else None
        if page is None:
            self.show(message)
        else:
            self.app.push_screen(page, partial(self.heard, message))

    def heard(self, message: Checked, said: Said | None) -> None:
        """Look at the file again with what was said of it."""
        if said is None:
            self.show(message)
        else:
            self.said[message.wanted.kind, message.wanted.path] = said
            self._check()

    def columns_anew(self, message: Checked, wanted: bool | None) -> None:
        """Ask once more what stands under which heading, beginning at what was chosen."""
        question = message.question
        if wanted and question is not None:
            page = ColumnsForm(self.PLACE, question, message.wanted.said)
            self.app.push_screen(page, partial(self.heard, message))

    def show(self, message: Checked) -> None:
        """Show the faults, or what would be written."""
        from panel.words.load_words import fault_lines

        report = message.report
        if report.problems:
            title = f"{report.file}: nothing was written"
            faults = list(fault_lines(report, asks="Enter"))
            page = FaultsPage(
                self.PLACE, title, faults, file=f"{Path(report.file).stem}-faults.txt"
            )
            page.question = message.question
            self.app.push_screen(page, partial(self.columns_anew, message))
        else:
            self.app.push_screen(CheckedPage(message.wanted, report, self.PLACE), self.was_kept)

    def was_kept(self, news: str | None) -> None:
        """Go back with the news once it was written."""
        if news:
            self.post_message(self.Kept(news))


def asking(place: str, question: Question, said: Said) -> ColumnsForm | DatesForm | None:
    """Return the page that asks what a file does not tell, None where it tells all."""
    if question.wanting:
        return ColumnsForm(place, question, said)
    return DatesForm(place, question, said) if question.open_dates else None


class FaultsPage(TextPage):
    """Why nothing was written; a column that was chosen wrongly is chosen anew from here."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "enter",
            "columns",
            "Columns",
            id="load.columns",
            tooltip="Choose anew what its headings mean",
        ),
    ]
    question: Question | None = None

    def can_now(self, action: str) -> bool:
        """Offer it where the file was read as far as its headings."""
        if action == "columns":
            return self.question is not None and bool(self.question.headings)
        return super().can_now(action)

    def action_columns(self) -> None:
        """Go back and ask."""
        self.dismiss(True)


class CheckedPage(TextPage):
    """What the file would bring; k keeps it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("k", "keep", "Keep", "load.keep", "Write it into the records"),
    ]

    @dataclass
    class Loaded(Message):
        """It was read once more and written."""

        report: LoadReport

    def __init__(self, wanted: Wanted, report: LoadReport, place: str) -> None:
        from panel.words.load_words import load_lines, question_lines

        self.changes = report.accepted + report.changed
        lines = [*load_lines(report, check=True), "", *question_lines(report, at_desk=True)]
        said = "k keeps it." if self.changes else "There is nothing to keep."
        super().__init__(place, f"{report.file}, checked", [*lines, said])
        self.wanted = wanted

    def can_now(self, action: str) -> bool:
        """Offer to keep it where there is something to keep."""
        if action == "keep":
            return self.changes > 0
        return super().can_now(action)

    def action_keep(self) -> None:
        """Write it; assessors come with their roles, so that a lead proves to be one."""
        if self.wanted.kind is Kind.ASSESSORS:
            proved(self.desk, Act.ROLES, self.take_in)
        else:
            self.take_in()

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def take_in(self) -> None:
        """Read the file once more and write it."""
        from panel.intake.who_loads import loader

        desk = self.desk
        with desk.store.read() as db:
            by = loader(db, desk.by, self.wanted.kind)
        self.post_message(self.Loaded(loaded(self, self.wanted, check=False, by=by)))

    def on_checked_page_loaded(self, message: Loaded) -> None:
        """Go back with the news; a file that was changed meanwhile is told."""
        from panel.words.load_words import fault_lines

        report = message.report
        if report.problems:
            title = f"{report.file}: nothing was written"
            self.app.switch_screen(
                TextPage(self.PLACE, title, list(fault_lines(report, asks="Checking it again")))
            )
        else:
            self.dismiss(f"{report.file} is in the records. {report.sentence()}.")


def loaded(page: LoadForm | CheckedPage, wanted: Wanted, *, check: bool, by: str) -> LoadReport:
    """Read the file as the command does, and say on the page how far it is."""
    from panel.intake.loading import load_file

    return load_file(
        page.desk.store,
        wanted.kind,
        wanted.path,
        now=page.desk.now(),
        by=by,
        check=check,
        create=wanted.create,
        update=wanted.update,
        sheet=wanted.sheet,
        said=wanted.said,
        sure=wanted.sure,
        progress=told(page),
    )


def asked(page: LoadForm, wanted: Wanted) -> Question:
    """Return what has to be asked of a file with faults."""
    from panel.intake.asking import question_of

    return question_of(
        *(page.desk.store, wanted.kind, wanted.path),
        now=page.desk.now(),
        sheet=wanted.sheet,
        said=wanted.said,
    )


def told(page: LoadForm | CheckedPage) -> Progress:
    """Return what says how far it is, a few times a second at most."""
    last = time.monotonic()

    def tell(done: int, whole: int) -> None:
        nonlocal last
        if time.monotonic() - last > SAID_EVERY_S:
            last = time.monotonic()
            page.app.call_from_thread(
                page.say, f"{in_digits(done, ',')} of {in_digits(whole, ',')} rows ..."
            )

    return tell
