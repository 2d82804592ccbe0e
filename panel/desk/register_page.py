"""The register of samples: what was drawn, its pure alcohol, why, and what became of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import Binding, BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.pick import PickPage, PickTable
from panel.desk.text_page import TextPage
from panel.figures import in_digits

if TYPE_CHECKING:
    from panel.questions.register import Register, RegisterLine


def amount(value: float | None, places: int) -> str:
    """Return a figure, or a dash where it is not on record."""
    return "-" if value is None else in_digits(value, f".{places}f")


COLUMNS: tuple[Column[RegisterLine], ...] = (
    Column("Drawn", 10, lambda r: str(r.drawn_on or "-"), lambda r: r.drawn_on),
    Column("Sample", 14, lambda r: r.sample),
    Column("Cask", 9, lambda r: r.cask),
    Column("Took mL", 7, lambda r: amount(r.millilitres, 0), lambda r: r.millilitres, right=True),
    Column("Left mL", 7, lambda r: amount(r.left_ml, 0), lambda r: r.left_ml, right=True),
    Column("Pure L", 7, lambda r: amount(r.lpa, 4), lambda r: r.lpa, right=True),
    Column("Became", 12, lambda r: r.fate or "-", stretch=True),
    Column("Why", 24, lambda r: r.reason or "-"),
)
UNTOLD_COLUMNS: tuple[Column[tuple[str, int]], ...] = (
    Column("Session", 30, lambda each: each[0], stretch=True),
    Column("Untold samples", 16, lambda each: str(each[1]), lambda each: each[1], right=True),
)
EMPTY = "Nothing was drawn from a cask yet."


class RegisterTable(PickTable["RegisterLine"]):
    """Lines that are ticked and then told of together."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Tell", id="register.open", tooltip="Why, and what became of it"),
        *sort_keys(COLUMNS),
    ]


class RegisterPage(ListPage):
    """All samples; what is ticked is told of at once."""

    PLACE = "house"
    TITLE_WORDS = "Register of samples"
    FIND_HINT = "words of day (2026-03), sample, cask, reason, fate"
    OFFERS = (
        Offer("register.open_lines", "Tick what says too little", "tick_open", "No why or end"),
        Offer("register.session", "Samples of a session", "session", "What became of the rest"),
        Offer("register.months", "Pure alcohol a month", "months", "Out and in, by reason"),
        Offer("register.carried", "Carried to other sites", "carried", "Sent, received, destroyed"),
        Offer("register.look", "Colour and clarity", "look", "As the pourer sees this sample"),
        Offer("register.reverse", "Reverse this line", "reverse", "Both stay; say why"),
        Offer("register.reversed", "Lines reversed", "reversed", "As they stood, and why"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        key("j", "tell", "Change", "register.tell", "Why, and what became of those ticked"),
        key("t", "all", "Tick all", "register.all", "Tick every line shown, or none"),
        key("v", "months", "Other view", "register.by_month", "Pure alcohol a month"),
    ]

    @dataclass
    class Read(Message):
        """The register has been read."""

        register: Register

    @dataclass
    class SessionsRead(Message):
        """The sessions whose samples say too little, and how many do."""

        untold: list[tuple[str, int]]

    def __init__(self) -> None:
        super().__init__()
        self.register: Register | None = None

    def table(self) -> BigTable[RegisterLine]:
        """Make the table of samples."""
        return RegisterTable(
            COLUMNS, name_of=lambda r: f"{r.sample}\n{r.filling}", many=True, empty=EMPTY
        )

    @work(thread=True, exclusive=True, group="register", exit_on_error=False)
    def read(self) -> None:
        """Read the register."""
        from panel.questions.register import sample_register

        with self.desk.store.read() as db:
            register = sample_register(db, as_of=self.desk.today())
        self.hand_over(self.Read(register))

    def on_register_page_read(self, message: Read) -> None:
        """Show it, and say what is not in it yet."""
        self.register = message.register
        self.fill(message.register.lines)

    def count(self) -> None:
        """Say in the heading how much pure alcohol there is, and how much is open."""
        super().count()
        if self.register is not None:
            lpa, without = self.register.lpa, self.register.open_lines
            said = (
                f"{in_digits(lpa, '.3f')} L of pure alcohol, "
                f"{in_digits(without, ',')} say too little"
            )
            self.head(fact=f"{in_digits(len(self.list.shown), ',')} lines, {said}")

    @property
    def chosen(self) -> list[str]:
        """The samples ticked, else that of the arrow."""
        table = self.query_one(RegisterTable)
        ticked = [row.sample for row in table.rows if table.name_of(row) in table.ticked]
        here = [table.current.sample] if table.current else []
        return list(dict.fromkeys(ticked or here))

    @on(BigTable.Opened)
    def open(self) -> None:
        """Tell of what is ticked."""
        self.action_tell()

    def action_tell(self) -> None:
        """Open the form for what is ticked."""
        if self.chosen:
            self.app.push_screen(page_of("tell", self.chosen))

    def action_all(self) -> None:
        """Tick all lines shown, or none if all are."""
        self.tick(self.list.shown)

    def action_tick_open(self) -> None:
        """Tick the lines shown that do not say why, or what became of it."""
        self.tick([row for row in self.list.shown if row.reason is None or row.fate is None])

    def tick(self, rows: Sequence[RegisterLine]) -> None:
        """Tick lines, or let them go if all are ticked."""
        table = self.query_one(RegisterTable)
        names = dict.fromkeys(table.name_of(row) for row in rows)
        if names.keys() <= table.ticked.keys():
            table.ticked = {name: None for name in table.ticked if name not in names}
        else:
            table.ticked |= names
        table.refresh()

    @work(thread=True, exclusive=True, group="untold", exit_on_error=False)
    def action_session(self) -> None:
        """Look which sessions have samples that say too little."""
        from panel.questions.register import sessions_untold

        with self.desk.store.read() as db:
            untold = sessions_untold(db)
        self.hand_over(self.SessionsRead(untold))

    def on_register_page_sessions_read(self, message: SessionsRead) -> None:
        """Choose one of them."""
        if not message.untold:
            self.say("Every sample of the sessions that are over says why and what became of it.")
            return

        def take(names: tuple[str, ...] | None) -> None:
            if names:
                self.app.push_screen(page_of("fates", names[0]))

        page = PickPage(
            "Samples of which session?",
            message.untold,
            UNTOLD_COLUMNS,
            name_of=lambda each: each[0],
            place=self.PLACE,
            many=False,
        )
        self.app.push_screen(page, take)

    def action_reverse(self) -> None:
        """Reverse the line of the arrow."""
        line = self.query_one(RegisterTable).current
        if line is not None:
            self.app.push_screen(page_of("reverse", line.sample))

    def action_look(self) -> None:
        """Ask how the sample of the arrow looks."""
        line = self.query_one(RegisterTable).current
        if line is not None:
            self.app.push_screen(page_of("look", line.sample))

    def action_reversed(self) -> None:
        """Show the lines that were reversed."""
        from panel.words.register_words import reversed_lines

        lines = [] if self.register is None else reversed_lines(self.register)
        said = lines or ["No line was reversed."]
        self.app.push_screen(TextPage(self.PLACE, "Lines reversed", said))

    def action_carried(self) -> None:
        """Show what went to other sites."""
        from panel.desk.elsewhere_forms import carried_page

        self.app.push_screen(carried_page(self.desk.store))

    def action_months(self) -> None:
        """Show the pure alcohol of each month, by reason."""
        from panel.questions.register_months import by_month
        from panel.words.register_words import BOOKED, month_lines
        from panel.words.rule_words import SAMPLES_LAST_WORD

        if self.register is None:
            return
        said = [*month_lines(by_month(self.register)), "", BOOKED, SAMPLES_LAST_WORD]
        title = "Pure alcohol a month"
        self.app.push_screen(TextPage(self.PLACE, title, said, file="pure-alcohol-a-month.txt"))
