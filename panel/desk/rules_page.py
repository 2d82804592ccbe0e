"""Rules of law, as sets that the house can edit; each cites its law."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.edits_back import TakesEditsBack, take_back_key
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.pin_slip import proved
from panel.desk.slip import Confirm, ReadSlip
from panel.figures import in_digits
from panel.kinds import EditedList
from panel.records.acts import Act
from panel.words.rule_words import LAST_WORD

if TYPE_CHECKING:
    from panel.store.rules import Rule, RuleBook


@dataclass(frozen=True)
class RuleRow:
    """A rule of a set, or a set that has none."""

    book: RuleBook
    rule: Rule | None

    @property
    def name(self) -> str:
        """What the row is known by."""
        return f"{self.book.name}\n{self.rule.kind.value if self.rule else ''}"


def rows_of(books: list[RuleBook]) -> list[RuleRow]:
    """Return a row a rule, and one for a set without."""
    return [RuleRow(book, rule) for book in books for rule in (book.rules or (None,))]


COLUMNS: tuple[Column[RuleRow], ...] = (
    Column("Set", 29, lambda r: r.book.name),
    Column("In force", 8, lambda r: "in force" if r.book.in_force else "off"),
    Column("Rule", 16, lambda r: r.rule.kind.value if r.rule else "none"),
    Column("Value", 6, lambda r: in_digits(r.rule.value, "g") if r.rule else "", right=True),
    Column("Unit", 28, lambda r: r.rule.unit if r.rule else ""),
    Column("Cites", 30, lambda r: r.rule.cites if r.rule else "", stretch=True),
)


class RulesTable(BigTable[RuleRow]):
    """Rules, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class RulesPage(ListPage, TakesEditsBack):
    """Every rule of every set; Enter says it in full."""

    PLACE = "house"
    TITLE_WORDS = "Rules of law"
    EDITED = EditedList.RULES
    BACK = Act.RULE
    OFFERS = (Offer("rules.force", "Set in force, or off", "turn", "The whole set of the arrow"),)
    BINDINGS: ClassVar[list[BindingType]] = [
        key("j", "change", "Change", "rules.change", "Another value, with the law it comes from"),
        key("n", "new", "New", "rules.new", "A rule more, or a set of your own"),
        key("minus", "drop", "Drop", "rules.drop", "Strike the rule out of its set"),
        take_back_key("rules.take_back"),
    ]

    @dataclass
    class Read(Message):
        """The sets have been read."""

        books: list[RuleBook]

    def table(self) -> BigTable[RuleRow]:
        """Make the table of rules."""
        return RulesTable(COLUMNS, name_of=lambda r: r.name)

    @work(thread=True, exclusive=True, group="rules", exit_on_error=False)
    def read(self) -> None:
        """Read all sets."""
        from panel.store.rules import rule_books

        with self.desk.store.read() as db:
            books = rule_books(db)
        self.hand_over(self.Read(books))

    def on_rules_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(rows_of(message.books))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Say the rule in full, and what its set does not look at."""
        from panel.words.answers import paragraph

        row: RuleRow = event.row
        said = [row.rule.words] if row.rule else []
        said += [f"Not looked at: {each}" for each in row.book.not_looked_at]
        lines = [line for each in (*said, "", LAST_WORD) for line in paragraph(each, 70)]
        self.app.push_screen(ReadSlip(row.book.name, lines))

    def action_change(self) -> None:
        """Open the form with what stands there."""
        row: RuleRow | None = self.list.current
        if row is not None:
            self.app.push_screen(page_of("rule", row))

    def edited_name(self) -> str | None:
        """Return the set of the arrow."""
        row: RuleRow | None = self.list.current
        return row.book.name if row else None

    def action_new(self) -> None:
        """Open an empty form; the set of the arrow stands in it."""
        row: RuleRow | None = self.list.current
        self.app.push_screen(page_of("rule", RuleRow(row.book, None) if row else None))

    def action_drop(self) -> None:
        """Open the form that strikes the rule out."""
        row: RuleRow | None = self.list.current
        if row is not None and row.rule is not None:
            self.app.push_screen(page_of("drop rule", row))
        else:
            self.say("This set has no rule.")

    def action_turn(self) -> None:
        """Ask, then put the set in force or off."""
        row: RuleRow | None = self.list.current
        if row is None:
            return
        book, to = row.book, "off" if row.book.in_force else "in force"

        def answered(agreed: bool | None) -> None:
            if agreed:
                put = partial(self.put, book.name, in_force=not book.in_force)
                proved(self.desk, Act.RULE, put)

        held = "No vatting or release is held to it any more."
        if not book.in_force:
            held = "Vattings and releases are held to it from now on."
        lines = [held, "", LAST_WORD]
        self.app.push_screen(Confirm(f"{book.name}: {to}", lines), answered)

    @work(thread=True, exclusive=True, group="put", exit_on_error=False)
    def put(self, name: str, *, in_force: bool) -> None:
        """Keep it."""
        from panel.records.rules import set_in_force

        desk = self.desk
        with writing(desk.store) as db:
            set_in_force(db, name, in_force, now=desk.now(), by=desk.by)
        news = f"{name}: {'in force' if in_force else 'off'}."
        self.app.call_from_thread(self.was_put, news)

    def was_put(self, news: str) -> None:
        """Show it as it is now."""
        self.desk.changes += 1
        self.seen = self.desk.changes
        self.say(news)
        self.read()
