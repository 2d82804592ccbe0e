"""Forms: one line a field, its fault beside it, nothing written until all is right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Static

from panel.desk.entries import ChoiceLine, Field, PickLine, TextLine
from panel.desk.page import Follows, Page
from panel.desk.pick import PickPage
from panel.desk.pin_slip import proved
from panel.records.acts import Act

if TYPE_CHECKING:
    from textual.app import ComposeResult


class FieldLine(Horizontal):
    """A label, what is typed, and beside it the hint or the fault."""

    DEFAULT_CSS = """
    FieldLine { height: auto; }
    FieldLine .label { width: 16; padding: 0 0 0 1; color: $secondary; }
    FieldLine .beside { width: 1fr; height: auto; padding: 0 1; color: $foreground 75%; }
    FieldLine .beside.-fault { color: $error; text-style: bold; }
    FieldLine.-wide TextLine { width: 1fr; }
    FieldLine.-wide .beside { width: auto; max-width: 34; }
    """

    def __init__(self, field: Field) -> None:
        super().__init__(classes="-wide" if field.wide else "")
        self.field = field
        self.hint = "" if field.wide else field.hint
        self.at_fault = False

    def compose(self) -> ComposeResult:
        """Lay the three parts side by side; a wide field bears its hint inside."""
        yield Static(Content(self.field.label), classes="label")
        yield self.make_entry()
        yield Static(Content(self.hint), classes="beside")

    def make_entry(self) -> Widget:
        """Make what is typed or chosen in."""
        if self.field.picks:
            return PickLine(self.field.value)
        if self.field.choices:
            return ChoiceLine(self.field.choices, self.field.value)
        inside = self.field.hint if self.field.wide else ""
        return TextLine(
            self.field.value,
            placeholder=inside,
            password=self.field.secret,
            select_on_focus=False,
        )

    @property
    def entry(self) -> ChoiceLine | TextLine | PickLine:
        """The part that holds the value."""
        found = self.children[1]
        if isinstance(found, ChoiceLine | TextLine | PickLine):
            return found
        raise TypeError("the middle of a field line holds its value")

    def show_fault(self, fault: str | None) -> None:
        """Show what is wrong, or the hint again."""
        self.at_fault = fault is not None
        self.show_hint(f"! {fault}" if fault else self.hint, fault=fault is not None)

    def show_hint(self, hint: str, *, fault: bool = False) -> None:
        """Show words beside the field."""
        beside = self.query_one(".beside", Static)
        beside.set_class(fault, "-fault")
        beside.update(Content(hint))


def finishing(word: str, tooltip: str, *, priority: bool = False) -> Binding:
    """Return the key that finishes a form, by the word for what it does."""
    return Binding("ctrl+s,f8", "keep", word, id="form.keep", tooltip=tooltip, priority=priority)


class FormPage(Page):
    """A form. Subclasses say which fields, and keep what was typed in a job."""

    FOLLOWS = Follows.NOTHING
    FIELDS: ClassVar[tuple[Field, ...]] = ()
    ACT: ClassVar[Act | None] = None
    """What it does that binds the house: whoever keeps it proves who they are."""
    ONLY_ASKS: ClassVar[bool] = False
    """Whether it writes nothing: what is typed goes on to the page or the list that asked."""
    about: str | None = None
    """The person whom it is about, if any."""
    BINDINGS: ClassVar[list[BindingType]] = [
        finishing("Keep", "Check and keep"),
    ]

    @dataclass
    class Kept(Message):
        """Written; the page may go."""

        news: str

    @dataclass
    class Refused(Message):
        """Not written: the faults by field name; those of no field stand under ''."""

        faults: dict[str, str]

    def __init__(self, values: Mapping[str, str] | None = None) -> None:
        super().__init__()
        self.given = dict(values or {})
        self.warned = False
        self.first: dict[str, str] = {}

    def fields(self) -> Sequence[Field]:
        """Return the fields, with what is known already."""
        return self.FIELDS

    def body(self) -> ComposeResult:
        """Stack the fields; more than fit are scrolled to."""
        with VerticalScroll(can_focus=False):
            for field in self.fields():
                yield FieldLine(field)

    def set_up(self) -> None:
        """Fill in what is given and stand on the first empty field."""
        super().set_up()
        for line in self.lines:
            if line.field.name in self.given:
                line.entry.value = self.given[line.field.name]
        self.first = self.values()
        empty = next((line for line in self.lines if not line.entry.value), None)
        if empty is not None:
            empty.entry.focus()

    @property
    def lines(self) -> list[FieldLine]:
        """The field lines in order."""
        return list(self.query(FieldLine))

    def values(self) -> dict[str, str]:
        """Return what stands in the fields, without the empty ones."""
        typed = {line.field.name: line.entry.value.strip() for line in self.lines}
        return {name: value for name, value in typed.items() if value}

    def line_of(self, name: str) -> FieldLine | None:
        """Return the line of a field."""
        return next((line for line in self.lines if line.field.name == name), None)

    def action_next_field(self) -> None:
        """Go to the next field."""
        self.focus_next()

    def action_field_before(self) -> None:
        """Go to the field before."""
        self.focus_previous()

    def action_back(self) -> None:
        """Leave; what was typed is thrown away only at the second Escape."""
        if self.values() != self.first and not self.warned:
            self.warned = True
            self.say("Not done yet: ctrl+s or f8 does it, Escape once more throws it away.")
            return
        self.give_up()

    def give_up(self) -> None:
        """Go where the form was opened. A form that is asked for an answer gives none."""
        super().action_back()

    def action_keep(self) -> None:
        """Check and write in a job."""
        if self.ACT is None:
            self._check()
        else:
            proved(self.desk, self.ACT, self._check, about=self.about)

    def _check(self) -> None:
        self.say("Checking ...")
        for line in self.lines:
            if line.at_fault:
                line.show_fault(None)
        self.keep(self.values())

    def keep(self, values: dict[str, str]) -> object:
        """Write; end with `Kept` or `Refused`. Subclasses make this a job."""
        raise NotImplementedError

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list that a field is chosen from; none while it is not read yet."""
        return None

    def on_pick_line_asked(self, message: PickLine.Asked) -> None:
        """Open the list of a field."""
        line = message.line
        owner = next(each for each in self.lines if each.entry is line)
        page = self.choices_for(owner.field.name)
        if page is None:
            self.say("One moment: the records are still being read.")
            return

        def take(names: tuple[str, ...] | None) -> None:
            if names is not None:
                line.value = "\n".join(names)
                if owner is not self.lines[-1]:
                    self.focus_next()

        self.app.push_screen(page, take)

    def on_form_page_kept(self, message: Kept) -> None:
        """Go back with the news."""
        self.desk.wrote(message.news)
        self.leave()

    def leave(self) -> None:
        """Go where somebody wants to be who has just kept this."""
        self.app.pop_screen()

    def on_form_page_refused(self, message: Refused) -> None:
        """Put each fault beside its field and stand on the first of them."""
        for line in self.lines:
            line.show_fault(message.faults.get(line.field.name))
        known = {line.field.name for line in self.lines}
        others = [fault for name, fault in message.faults.items() if name not in known]
        count = len(message.faults)
        words = (
            " ".join(others) or f"{count} {'entry is' if count == 1 else 'entries are'} not right."
        )
        self.say(
            f"{'Not yet:' if self.ONLY_ASKS else 'Nothing was written.'} {words}", trouble=True
        )
        first = next((line for line in self.lines if line.field.name in message.faults), None)
        if first is not None:
            first.entry.focus()
