"""The targets: what releases should be like."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.edits_back import TakesEditsBack, take_back_key
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.pick import PickPage
from panel.figures import in_digits
from panel.kinds import EditedList

if TYPE_CHECKING:
    from panel.questions.targets import TargetRecord

EMPTY = """No targets yet: n writes the first line of one; the page of a cask makes one
like it, by its list of all (.).
From a file: 7 House, Bring records in; a file to fill in: 7 House, Save records."""


def aims(target: TargetRecord) -> str:
    """Return the aims of a target in one line."""
    return ", ".join(
        (f"{line.descriptor} {in_digits(line.aim, 'g')} ±{in_digits(line.tolerance, 'g')}")
        for line in target.lines
    )


def list_of_targets(targets: Sequence[TargetRecord], place: str) -> PickPage:
    """The list that forms choose a target from."""
    columns: tuple[Column[TargetRecord], ...] = (
        Column("Target", 20, lambda t: t.name),
        Column("Aims", 30, aims, stretch=True),
    )
    return PickPage(
        "For which target?",
        targets,
        columns,
        name_of=lambda t: t.name,
        place=place,
        many=False,
    )


COLUMNS: tuple[Column[TargetRecord], ...] = (
    Column("Target", 20, lambda t: t.name),
    Column("Lines", 5, lambda t: str(len(t.lines)), lambda t: len(t.lines), right=True),
    Column("Aims", 30, aims, stretch=True),
)


class TargetTable(BigTable["TargetRecord"]):
    """Targets, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class TargetsPage(ListPage, TakesEditsBack):
    """All targets; Enter shows the casks that suit one."""

    PLACE = "targets"
    TITLE_WORDS = "Targets"
    EDITED = EditedList.TARGETS
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New", "targets.new", "A new target, its first line"),
        take_back_key("targets.take_back"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("targets.like", "A target like this one", "like", "With more or less of some notes"),
    )

    @dataclass
    class Read(Message):
        """The targets have been read."""

        targets: list[TargetRecord]

    def table(self) -> BigTable[TargetRecord]:
        """Make the table of targets."""
        return TargetTable(COLUMNS, name_of=lambda t: t.name, empty=EMPTY)

    @work(thread=True, exclusive=True, group="targets", exit_on_error=False)
    def read(self) -> None:
        """Read all targets."""
        from panel.questions.targets import target_records

        with self.desk.store.read() as db:
            targets = target_records(db)
        self.hand_over(self.Read(targets))

    def on_targets_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(message.targets)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show one target and the casks that suit it."""
        self.app.push_screen(page_of("target", event.row))

    def edited_name(self) -> str | None:
        """Return the target of the arrow."""
        target: TargetRecord | None = self.list.current
        return target.name if target else None

    def action_new(self) -> None:
        """Open the form for the first line of a new target."""
        self.app.push_screen(page_of("new target"))

    def action_like(self) -> None:
        """Make a target of the one of the arrow, with more or less of some notes."""
        from panel.desk.like_page import Source

        row: TargetRecord | None = self.list.current
        if row is None:
            self.say("There is no target to start from yet.")
        else:
            self.app.push_screen(page_of("like", Source(target=row.name)))
