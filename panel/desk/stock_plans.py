"""The plans of the stock: which releases are meant for which years."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.list_page import ListPage
from panel.figures import in_digits

if TYPE_CHECKING:
    from panel.questions.plan_records import PlanRecord

EMPTY = """No plan yet: n writes the first release of one, with its year, target and bottles.
From a file: 7 House, Bring records in; a file to fill in: 7 House, Save records."""


def years_of(plan: PlanRecord) -> str:
    """Return the first and the last year of a plan."""
    years = [line.year for line in plan.lines]
    return f"{min(years)}-{max(years)}" if years else ""


COLUMNS: tuple[Column[PlanRecord], ...] = (
    Column("Plan", 20, lambda p: p.plan, stretch=True),
    Column("Releases", 8, lambda p: str(len(p.lines)), lambda p: len(p.lines), right=True),
    Column("Years", 9, years_of),
    Column(
        "Bottles",
        8,
        lambda p: in_digits(sum(line.bottles for line in p.lines), ","),
        lambda p: sum(line.bottles for line in p.lines),
        right=True,
    ),
    Column("Casks kept", 10, lambda p: str(p.kept_on or "")),
)


class PlansTable(BigTable["PlanRecord"]):
    """Plans, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class StockPlansPage(ListPage):
    """All plans; Enter looks for the casks of one."""

    PLACE = "releases"
    TITLE_WORDS = "Plans of the stock"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New", "plans.new", "A new plan, its first release"),
    ]

    @dataclass
    class Read(Message):
        """The plans have been read."""

        plans: list[PlanRecord]

    def table(self) -> BigTable[PlanRecord]:
        """Make the table of plans."""
        return PlansTable(COLUMNS, name_of=lambda p: p.plan, empty=EMPTY)

    @work(thread=True, exclusive=True, group="plans", exit_on_error=False)
    def read(self) -> None:
        """Read all plans."""
        from panel.questions.plan_records import plan_records

        with self.desk.store.read() as db:
            plans = plan_records(db)
        self.hand_over(self.Read(plans))

    def on_stock_plans_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(message.plans)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Go to one plan."""
        self.app.push_screen(page_of("stock plan", event.row.plan))

    def action_new(self) -> None:
        """Open the form for the first release of a new plan."""
        self.app.push_screen(page_of("planned release"))
