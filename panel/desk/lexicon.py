"""The lexicon: the house's own words and what they mean."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.edits_back import TakesEditsBack, take_back_key
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.list_page import ListPage
from panel.desk.slip import ReadSlip
from panel.kinds import EditedList

if TYPE_CHECKING:
    from panel.questions.lexicon import DescriptorLine, VersionLine

EMPTY = """No descriptors yet: n writes down the first one.
From a file: 7 House, Bring records in; a file to fill in: 7 House, Save records."""

STAGES = ("nose", "arrival", "development", "finish")
COLUMNS: tuple[Column[DescriptorLine], ...] = (
    Column("Descriptor", 18, lambda d: d.name),
    Column("Stage", 11, lambda d: d.newest.stage, lambda d: STAGES.index(d.newest.stage)),
    Column("Version", 7, lambda d: str(d.newest.version), lambda d: d.newest.version, right=True),
    Column("Retired", 10, lambda d: str(d.newest.retired_on or ""), lambda d: d.newest.retired_on),
    Column("Meaning", 24, lambda d: d.newest.meaning, stretch=True),
)


def version_lines(version: VersionLine) -> list[str]:
    """Return one version in full."""
    pools = ", pooled with the one before" if version.pools_with_previous else ""
    absent = ", ought to be absent" if version.ought_to_be_absent else ""
    lines = [
        f"Version {version.version}, {version.stage}{pools}{absent}",
        f"  from  {version.low_words}",
        f"  to    {version.high_words}",
    ]
    lines += [f"  {version.meaning}"] if version.meaning else []
    lines += [f"  Reference: {version.recipe}"] if version.recipe else []
    lines += [f"  Introduced {version.introduced_on}"] if version.introduced_on else []
    lines += [f"  Retired {version.retired_on}; its scores stay"] if version.retired_on else []
    return lines


class WordTable(BigTable["DescriptorLine"]):
    """Descriptors, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class LexiconPage(ListPage, TakesEditsBack):
    """All descriptors, the retired ones too."""

    PLACE = "lexicon"
    TITLE_WORDS = "Lexicon"
    EDITED = EditedList.LEXICON
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New", "lexicon.new", "Write down a new descriptor"),
        key("j", "version", "New version", "lexicon.version", "Change its meaning"),
        key("minus", "retire", "Retire", "lexicon.retire", "Score it no longer"),
        take_back_key("lexicon.take_back"),
    ]

    @dataclass
    class Read(Message):
        """The lexicon has been read."""

        words: list[DescriptorLine]

    def table(self) -> BigTable[DescriptorLine]:
        """Make the table of descriptors."""
        return WordTable(COLUMNS, name_of=lambda d: d.name, empty=EMPTY)

    @work(thread=True, exclusive=True, group="lexicon", exit_on_error=False)
    def read(self) -> None:
        """Read all descriptors."""
        from panel.questions.lexicon import descriptor_lines

        with self.desk.store.read() as db:
            words = descriptor_lines(db)
        self.hand_over(self.Read(words))

    def on_lexicon_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(message.words)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show one descriptor with all its versions."""
        descriptor: DescriptorLine = event.row
        lines = [
            line for each in reversed(descriptor.versions) for line in (*version_lines(each), "")
        ]
        self.app.push_screen(ReadSlip(descriptor.name, lines[:-1]))

    def edited_name(self) -> str | None:
        """Return the descriptor of the arrow."""
        word: DescriptorLine | None = self.list.current
        return word.name if word else None

    def action_new(self) -> None:
        """Open the form for a new descriptor."""
        self.app.push_screen(page_of("new descriptor"))

    def action_version(self) -> None:
        """Open the form for a new version of this descriptor."""
        if self.list.current is not None:
            self.app.push_screen(page_of("new version", self.list.current))

    def action_retire(self) -> None:
        """Open the form that retires this descriptor."""
        descriptor: DescriptorLine | None = self.list.current
        if descriptor is None:
            return
        if descriptor.newest.retired_on is not None:
            self.say(
                f"{descriptor.name} was retired on {descriptor.newest.retired_on}; its scores stay."
            )
        else:
            self.app.push_screen(page_of("retire", descriptor))
