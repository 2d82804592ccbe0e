"""A target line by line, and the form that changes one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.edits_back import TakesEditsBack, take_back_key
from panel.desk.entries import Field
from panel.desk.keys import key
from panel.desk.pick import PickPage
from panel.desk.plan_form import WORD_COLUMNS
from panel.desk.record_form import RecordForm
from panel.figures import in_digits
from panel.kinds import EditedList

if TYPE_CHECKING:
    from panel.questions.lexicon import DescriptorLine
    from panel.questions.targets import AimLine

COLUMNS: tuple[Column[AimLine], ...] = (
    Column("Descriptor", 24, lambda a: a.descriptor),
    Column("Aim", 6, lambda a: in_digits(a.aim, "g"), lambda a: a.aim, right=True),
    Column(
        "Tolerance",
        9,
        lambda a: f"±{in_digits(a.tolerance, 'g')}",
        lambda a: a.tolerance,
        right=True,
    ),
    Column("Weight", 6, lambda a: in_digits(a.weight, "g"), lambda a: a.weight, right=True),
)


class AimTable(BigTable["AimLine"]):
    """Lines of a target, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class TargetLinesPage(TakesEditsBack):
    """What a target asks of each descriptor; Enter changes a line, n adds one."""

    PLACE = "targets"
    EDITED = EditedList.TARGETS
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New line", "lines.new", "A descriptor more"),
        take_back_key("lines.take_back"),
    ]

    @dataclass
    class Read(Message):
        """The lines have been read."""

        lines: tuple[AimLine, ...]

    def __init__(self, target: str) -> None:
        super().__init__()
        self.target = target

    def body(self) -> ComposeResult:
        """One table."""
        yield AimTable(COLUMNS, name_of=lambda a: a.descriptor, empty="No line yet: n adds one.")

    def set_up(self) -> None:
        """Say which target."""
        super().set_up()
        self.head(f"Target {self.target}")

    @work(thread=True, exclusive=True, group="lines", exit_on_error=False)
    def read(self) -> None:
        """Read the lines."""
        from panel.questions.targets import target_records

        with self.desk.store.read() as db:
            found = {record.name: record.lines for record in target_records(db)}
        self.hand_over(self.Read(found.get(self.target, ())))

    def on_target_lines_page_read(self, message: Read) -> None:
        """Show them."""
        self.query_one(AimTable).fill(message.lines)
        self.head(fact=f"{len(message.lines)} lines")

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Change the line of the arrow."""
        line: AimLine = event.row
        values = {
            "target": self.target,
            "descriptor": line.descriptor,
            "aim": in_digits(line.aim, ".15g"),
            "tolerance": in_digits(line.tolerance, ".15g"),
            "weight": in_digits(line.weight, ".15g"),
        }
        self.app.push_screen(TargetForm(values))

    def edited_name(self) -> str:
        """Return the target, whichever line the arrow is on."""
        return self.target

    def action_new(self) -> None:
        """Add a line."""
        self.app.push_screen(TargetForm({"target": self.target}))


class TargetForm(RecordForm):
    """What a target asks of one descriptor; a name nobody knows makes a new target."""

    PLACE = "targets"
    TITLE_WORDS = "A line of a target"
    KIND = "targets"
    NEEDED = ("target", "descriptor", "aim", "tolerance", "weight")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("target", "Target", "a new name makes a new target"),
        Field("descriptor", "Descriptor", "from the lexicon", picks=True),
        Field("aim", "Aim", "points, 0 to 100"),
        Field("tolerance", "Tolerance", "points to either side"),
        Field("weight", "Weight", "1 where it is empty"),
    )

    @dataclass
    class Read(Message):
        """The lexicon has been read."""

        words: list[DescriptorLine]

    def __init__(self, values: Mapping[str, str] | None = None) -> None:
        super().__init__(values)
        self.words: list[DescriptorLine] | None = None

    @work(thread=True, exclusive=True, group="words", exit_on_error=False)
    def read(self) -> None:
        """Read the descriptors that are still scored."""
        from panel.questions.lexicon import descriptor_lines

        today = self.desk.today()
        with self.desk.store.read() as db:
            words = [line for line in descriptor_lines(db) if not line.is_retired(today)]
        self.hand_over(self.Read(words))

    def on_target_form_read(self, message: Read) -> None:
        """Keep them for the list."""
        self.words = message.words

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list of descriptors."""
        if self.words is None:
            return None
        return PickPage(
            "Which descriptor?",
            self.words,
            WORD_COLUMNS,
            name_of=lambda word: str(word.name),
            place=self.PLACE,
            many=False,
        )

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return (
            f"{values['target']} asks for {values['descriptor']} {values['aim']} "
            f"±{values['tolerance']}."
        )
