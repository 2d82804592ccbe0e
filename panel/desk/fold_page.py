"""Casks told together: by parcel, warehouse, site or owner; Enter narrows the list to one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.keys import key
from panel.desk.list_page import ListPage
from panel.desk.page import Follows
from panel.questions.cask_narrowing import Narrowing
from panel.questions.stock_part import lines_folded
from panel.words.cask_words import fold_cells

if TYPE_CHECKING:
    from panel.questions.cask_life import CaskLine
    from panel.questions.stock_part import Folded

ORDER = ("parcel", "warehouse", "owner", "site")
EMPTY = "No cask of these holds spirit."
COLUMNS: tuple[Column[Folded], ...] = (
    Column("Name", 24, lambda f: f.name or "none on record", stretch=True),
    Column("Casks", 7, lambda f: f"{f.casks:,}", lambda f: f.casks, right=True),
    Column("Litres", 10, lambda f: f"{f.litres:,.0f}", lambda f: f.litres, right=True),
    Column(
        *("Pure L", 10, lambda f: fold_cells(f, "")[3], lambda f: f.litres_of_pure_alcohol),
        right=True,
    ),
    Column("Age", 14, lambda f: fold_cells(f, "")[4], lambda f: f.youngest_years, right=True),
    Column("Held back", 10, lambda f: f"{f.barred:,}", lambda f: f.barred, right=True),
)


class FoldTable(BigTable["Folded"]):
    """Folds, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class FoldPage(ListPage):
    """What the list held when it was opened, folded; v folds it by another record."""

    PLACE = "casks"
    FOLLOWS = Follows.NOTHING
    TITLE_WORDS = "Casks by parcel"
    FIND_HINT = "words of the name"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("v", "other", "Other view", "folded.other", "By parcel, warehouse, owner, site"),
    ]

    def __init__(self, lines: Sequence[CaskLine]) -> None:
        super().__init__()
        self.rows = lines
        self.by = ORDER[0]

    def table(self) -> BigTable[Folded]:
        """Make the table of folds."""
        return FoldTable(COLUMNS, name_of=lambda f: f.name, empty=EMPTY)

    def set_up(self) -> None:
        """Fold what was handed in."""
        super().set_up()
        self._fold()

    def _fold(self) -> None:
        self.head(f"Casks by {self.by}")
        self.fill(lines_folded(self.rows, self.by))

    def action_other(self) -> None:
        """Fold by the next record."""
        self.by = ORDER[(ORDER.index(self.by) + 1) % len(ORDER)]
        self._fold()

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Narrow the list of casks to this fold."""
        name = event.row.name
        if name:
            self.dismiss(Narrowing(**{f"{self.by}s": (name,)}))  # type: ignore[arg-type]
        else:
            self.say(f"These have no {self.by} on record, so there is nothing to narrow to.")

    def action_back(self) -> None:
        """Show all lines again, then leave the list as it was."""
        if self.list.wanted:
            super().action_back()
        else:
            self.dismiss(None)
