"""Which question the next session is for, and the form that plans it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.entries import Field
from panel.desk.homes import page_of
from panel.desk.list_page import ListPage
from panel.desk.plan_form import PlanForm
from panel.desk.typed import DAY_HINT, Entries

if TYPE_CHECKING:
    from panel.questions.next_choices import NextChoice
    from panel.questions.next_session import NextAnswer

COLUMNS: tuple[Column[NextChoice], ...] = (
    Column("What is to be decided", 22, lambda c: c.question),
    Column("About", 40, lambda c: c.about, stretch=True),
)


class ChoiceTable(BigTable["NextChoice"]):
    """Questions, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class NextChoicesPage(ListPage):
    """All that can be asked about the next session; Enter asks it."""

    PLACE = "sessions"
    TITLE_WORDS = "What to nose next"

    @dataclass
    class Read(Message):
        """What can be asked has been read."""

        choices: list[NextChoice]

    def table(self) -> BigTable[NextChoice]:
        """Make the table of questions."""
        return ChoiceTable(COLUMNS, name_of=lambda c: c.name, empty="No target is loaded yet.")

    @work(thread=True, exclusive=True, group="choices", exit_on_error=False)
    def read(self) -> None:
        """Read what can be asked."""
        from panel.desk.next_jobs import read_choices

        self.hand_over(self.Read(read_choices(self.desk)))

    def on_next_choices_page_read(self, message: Read) -> None:
        """Show it."""
        self.fill(message.choices)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Ask it."""
        self.app.push_screen(page_of("next", event.row))


class PlanNextForm(PlanForm):
    """Name and day; who noses what is as it was proposed."""

    TITLE_WORDS = "Plan what was proposed"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("name", "Name", "such as Thursday 12"),
        Field("held_on", "Held on", f"empty: today; {DAY_HINT}"),
    )

    def __init__(self, answer: NextAnswer) -> None:
        super().__init__()
        self.answer = answer

    def read(self) -> None:  # type: ignore[override]
        """Everything else is known."""

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """See what the plan takes without keeping it."""
        from panel.desk.plan_jobs import try_plan
        from panel.errors import EntriesAtFault, PlanRefused, WrongState
        from panel.questions.next_plan import plan_of

        entries = Entries(values)
        name, day = (
            entries.needed("name", "a name, such as Thursday 12"),
            entries.near_day("held_on", self.desk.today()),
        )
        try:
            entries.settle()
            on_day = day or self.desk.today()
            with self.desk.store.read() as db:
                plan = plan_of(db, self.answer, name, held_on=on_day)
            tried = try_plan(self.desk.store, plan, now=self.desk.now(), by=self.desk.by)
        except EntriesAtFault as error:
            self.hand_over(self.Refused(error.faults))
        except (PlanRefused, WrongState) as refused:
            self.hand_over(self.Unplannable(str(refused).splitlines()))
        else:
            self.hand_over(self.Summed(tried))
