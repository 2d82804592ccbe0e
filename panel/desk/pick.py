"""Choosing one or several lines of a list."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.binding import Binding, BindingType

from panel.desk.big_table import BigTable, sortable
from panel.desk.columns import Column, Row
from panel.desk.keys import key
from panel.desk.list_page import ListPage
from panel.desk.page import Follows

if TYPE_CHECKING:
    from collections.abc import Hashable


ONE = "Enter takes a line, letters find. Escape leaves it as it was."
MANY = "Space ticks and moves down, enter takes what is ticked, escape leaves it."


class PickTable(BigTable[Row]):
    """Lines that can be ticked; the number is the order in which they were."""

    MARGIN = 5
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Take", id="pick.take", tooltip="Take what is ticked"),
        Binding(
            *("space", "tick", "Tick"),
            id="pick.tick",
            tooltip="Take this line, or let it go, and move down",
        ),
    ]

    def __init__(
        self,
        columns: Sequence[Column[Row]],
        *,
        name_of: Callable[[Row], Hashable],
        many: bool,
        ticked: Iterable[str] = (),
        empty: str = "Nothing to choose from yet.",
    ) -> None:
        super().__init__(columns, name_of=name_of, empty=empty)
        self.many = many
        self.ticked: dict[Hashable, None] = dict.fromkeys(ticked)

    def action_tick(self) -> None:
        """Take the line or let it go, and step on."""
        if self.current is None:
            return
        name = self.name_of(self.current)
        if name in self.ticked:
            del self.ticked[name]
        else:
            self.ticked[name] = None
        self.action_move(1)
        self.refresh()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer to tick where several can be taken."""
        return action != "tick" or self.many

    def lead_of(self, row: Row, *, here: bool) -> str:
        """Return the arrow and the number of the tick."""
        names = list(self.ticked)
        name = self.name_of(row)
        number = f"{names.index(name) + 1:>2}" if name in self.ticked else " ·"
        return f"{'▸' if here else ' '} {number} "


class PickPage(ListPage):
    """A list over a form; Enter takes what is ticked, Escape leaves all as it was."""

    FOLLOWS = Follows.NOTHING
    LETTERS_FIND = True
    BINDINGS: ClassVar[list[BindingType]] = [
        key("t", "all", "Tick all", "pick.all", "Tick every line shown, or none"),
    ]

    def __init__(
        self,
        title: str,
        rows: Sequence[Any],
        columns: Sequence[Column[Any]],
        *,
        name_of: Callable[[Any], str],
        place: str,
        many: bool,
        ticked: Iterable[str] = (),
    ) -> None:
        super().__init__()
        self.PLACE = place  # type: ignore[misc]
        self.IN_A_HOUSE = bool(place)  # type: ignore[misc]
        self.words = title
        self.rows = rows
        made: type[PickTable[Any]] = sortable(PickTable, columns)
        self.made = made(columns, name_of=name_of, many=many, ticked=ticked)

    def table(self) -> BigTable[Any]:
        """Give the table."""
        return self.made

    def set_up(self) -> None:
        """Show the rows that were handed in."""
        super().set_up()
        self.head(self.words)
        self.fill(self.rows)
        for name in self.made.ticked:
            self.made.go_to(name)  # the arrow stands on what is chosen now
        self.say(MANY if self.made.many else ONE)

    def can_now(self, action: str) -> bool:
        """Offer to tick all where several can be taken."""
        if action == "all":
            return self.made.many
        return super().can_now(action)

    @on(BigTable.Opened)
    def take(self, event: BigTable.Opened) -> None:
        """Take what is ticked, or the line of the arrow where only one is wanted."""
        if not self.made.many or not self.made.ticked:
            self.made.ticked = {self.made.name_of(event.row): None}
        self.dismiss(tuple(str(name) for name in self.made.ticked))

    def meant(self, words: str) -> str | None:
        """Return the one line that the words leave, or that begins with them; None: no one line."""
        names = [str(self.made.name_of(row)) for row in self.made.shown]
        begin = [name for name in names if name.casefold().startswith(words.casefold())]
        found = names if len(names) == 1 else begin
        return found[0] if len(found) == 1 else None

    def look_for(self, words: str) -> None:
        """Put the arrow on the line that enter will take; where one is wanted."""
        super().look_for(words)
        meant = self.meant(words) if words and not self.made.many else None
        if meant is not None and self.made.go_to(meant):
            self.made.follow()

    def words_kept(self, words: str) -> None:
        """Take the line that the words mean, where one is wanted and they mean one."""
        self.look_for(words)  # what was typed fast may not have been looked for yet
        if words and not self.made.many and self.meant(words) is not None:
            self.list.action_open()

    def action_all(self) -> None:
        """Tick all lines shown, or none if all are."""
        names = [self.made.name_of(row) for row in self.made.shown]
        if all(name in self.made.ticked for name in names):
            self.made.ticked = {n: None for n in self.made.ticked if n not in set(names)}
        else:
            self.made.ticked |= dict.fromkeys(names)
        self.made.refresh()

    def action_back(self) -> None:
        """Leave all as it was."""
        if self.list.wanted:
            super().action_back()
        else:
            self.dismiss(None)
