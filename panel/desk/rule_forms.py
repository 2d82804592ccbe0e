"""Forms for a rule of law: another value, a new one, one struck out."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from panel.desk.acting import writing
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.typed import Entries, any_number
from panel.errors import EntriesAtFault
from panel.figures import in_digits
from panel.kinds import RuleKind
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.desk.rules_page import RuleRow

LAW = "name the law that it comes from"
CITES = Field("cites", "Cites", "the law, with its number", wide=True)


class RuleForm(DeedForm):
    """Set, kind, value, law."""

    PLACE = "house"
    ACT = Act.RULE
    TITLE_WORDS = "A rule of law"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("name", "Set", "a new name makes a set of your own"),
        Field("what", "Rule", choices=tuple(kind.value for kind in RuleKind)),
        Field("value", "Value", ""),
        CITES,
    )

    def __init__(self, row: RuleRow | None) -> None:
        given = {} if row is None else {"name": row.book.name}
        if row is not None and row.rule is not None:
            rule = row.rule
            given |= {
                "what": rule.kind.value,
                "value": in_digits(rule.value, "g"),
                "cites": rule.cites,
            }
        super().__init__(given)

    def set_up(self) -> None:
        """Say what the value is counted in."""
        super().set_up()
        self.on_choice_line_changed()

    def on_choice_line_changed(self) -> None:
        """Say what the value is counted in."""
        from panel.store.rules import HIGHEST, UNITS

        kind, line = RuleKind(self.values()["what"]), self.line_of("value")
        if line is not None:
            line.hint = f"{UNITS[kind]}, 0 to {in_digits(HIGHEST[kind], 'g')}"
            line.show_hint(line.hint)

    def look(self, values: dict[str, str]) -> float:
        """Return the value."""
        typed = Entries(values)
        typed.needed("name", "name the set")
        typed.needed("value", "give a number")
        typed.needed("cites", LAW)
        value = typed.read("value", any_number, "a number")
        typed.settle()
        return value or 0.0

    def do(self, values: dict[str, str]) -> str:
        """Keep it."""
        from panel.records.rules import change_rule

        desk, name, what = self.desk, values["name"], values["what"]
        value = self.look(values)
        with writing(desk.store) as db:
            change_rule(db, name, what, value, values["cites"], now=desk.now(), by=desk.by)
        return f"{name}: {what} {in_digits(value, 'g')}."


class DropRuleForm(DeedForm):
    """Why a rule is struck out: the law that says so."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Strike out", "Strike the rule out")]
    PLACE = "house"
    ACT = Act.RULE
    FIELDS: ClassVar[tuple[Field, ...]] = (CITES,)

    def __init__(self, row: RuleRow) -> None:
        super().__init__()
        self.row = row

    def set_up(self) -> None:
        """Say which rule."""
        super().set_up()
        rule = self.row.rule
        self.head(f"Strike out: {rule.kind.value if rule else ''}", self.row.book.name)

    def look(self, values: dict[str, str]) -> None:
        """See that a law is named."""
        if not values.get("cites"):
            raise EntriesAtFault({"cites": LAW})

    def do(self, values: dict[str, str]) -> str:
        """Strike it out."""
        from panel.records.rules import change_rule

        desk, name, rule = self.desk, self.row.book.name, self.row.rule
        if rule is None:
            raise EntriesAtFault({"": "This set has no rule."})
        what = rule.kind.value
        with writing(desk.store) as db:
            change_rule(db, name, what, None, values["cites"], now=desk.now(), by=desk.by)
        return f"{name}: {what} struck out."
