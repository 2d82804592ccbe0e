"""Whose words a file's headings are: heading, our column, what stands under it; before loading."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from panel.desk.columns import Column
from panel.desk.entries import Field
from panel.desk.form import FormPage, finishing
from panel.desk.pick import PickPage
from panel.intake.day_order import DayOrder, both_days
from panel.intake.said import Said

if TYPE_CHECKING:
    from panel.intake.asking import OurColumn, Question, SeenHeading

LEFT_OUT, SCORED = "(left out)", "(a word that is scored)"
ROW = "heading row"
OUR_COLUMNS: tuple[Column[OurColumn], ...] = (
    Column("Column", 20, lambda c: c.name),
    Column("Must", 4, lambda c: "must" if c.must else ""),
    Column("What stands in it", 44, lambda c: c.words, stretch=True),
)
HOW = "Enter on a line chooses our column, ctrl+s goes on. It is kept for the next file like this."


class ColumnsForm(FormPage):
    """One line a heading; what is chosen is handed back, nothing is written yet."""

    ONLY_ASKS = True
    BINDINGS: ClassVar[list[BindingType]] = [
        finishing("Go on", "Take these columns and look at the file again")
    ]

    def __init__(self, place: str, question: Question, said: Said) -> None:
        super().__init__()
        self.PLACE = place  # type: ignore[misc]
        self.question, self.said = question, said

    def fields(self) -> tuple[Field, ...]:
        """Return the row of the headings, then a line for each of them."""
        row = Field(
            ROW, "Headings in row", "another row: type it, ctrl+s", f"{self.question.heading_row}"
        )
        lines = (
            Field(f"{place}", each.heading, "; ".join(each.values), self._chosen(each), picks=True)
            for place, each in enumerate(self.question.headings)
        )
        return (row, *lines)

    def _chosen(self, each: SeenHeading) -> str:
        if each.left_out:
            return LEFT_OUT
        return each.column or ""

    def set_up(self) -> None:
        """Say what this is and stand on the first heading that is not ours."""
        super().set_up()
        self.head(f"{self.question.file}: its headings, our columns ({self.question.kind})")
        lines = self.lines
        open_line = next((line for line in lines[1:] if not line.entry.value), None)
        (open_line or lines[-1]).entry.focus()
        self.say(HOW)

    def choices_for(self, name: str) -> PickPage | None:
        """Return the columns that are free, first those that must be, and ways to have none."""
        from panel.intake.asking import OurColumn

        elsewhere = {value for other, value in self.values().items() if other != name}
        free = [each for each in self.question.columns if each.name not in elsewhere]
        columns = sorted(free, key=lambda column: not column.must)
        others = [OurColumn(LEFT_OUT, "it is not loaded", False)]
        if self.question.may_score:
            others.append(OurColumn(SCORED, "its heading is the word", False))
        heading = self.question.headings[int(name)].heading
        return PickPage(
            f"What stands under {heading}?",
            [*columns, *others],
            OUR_COLUMNS,
            name_of=lambda column: str(column.name),
            place=self.PLACE,
            many=False,
            ticked=[self.values().get(name, "")],
        )

    def action_keep(self) -> None:
        """Hand back what was chosen, once all that must be there is."""
        values = self.values()
        row = values.pop(ROW, "")
        if row != f"{self.question.heading_row}":
            self._other_row(row)
            return
        faults = self._faults(values)
        if faults:
            self.post_message(self.Refused(faults))
        else:
            self.dismiss(replace(self.said, columns={**self.said.columns, **self._named(values)}))

    def _other_row(self, row: str) -> None:
        if row.isdecimal() and int(row):
            self.dismiss(replace(self.said, columns={}, heading_row=int(row)))
        else:
            self.post_message(self.Refused({ROW: "the number of a row of the file"}))

    def _faults(self, values: dict[str, str]) -> dict[str, str]:
        taken = list(values.values())
        faults = {
            f"{place}": "choose a column, or that it is left out"
            for place in range(len(self.question.headings))
            if f"{place}" not in values
        }
        for place, name in values.items():
            if name not in {LEFT_OUT, SCORED} and taken.count(name) > 1:
                faults[place] = f"{name} is chosen twice"
        scored = self.question.may_score and SCORED in taken
        words = {"descriptor", "score"} if scored else set()
        wanted = [each.name for each in self.question.columns if each.must]
        missing = [name for name in wanted if name not in taken and name not in words]
        either = self.question.either
        if either and not set(either) & set(taken):
            missing.append(" or ".join(either))
        if missing:
            faults[""] = f"No heading is {', '.join(missing)} yet."
        return faults

    def _named(self, values: dict[str, str]) -> dict[str, str | None]:
        """Return what was chosen otherwise than the heading itself says."""
        named: dict[str, str | None] = {}
        for place, name in values.items():
            each = self.question.headings[int(place)]
            if name != SCORED and (name != each.column or each.left_out):
                named[each.heading] = None if name == LEFT_OUT else name
        return named

    def give_up(self) -> None:
        """Leave the file as it was."""
        self.dismiss(None)


CHOOSE = "choose"


class DatesForm(FormPage):
    """Which of two days is meant, once a column in which no date settles it."""

    ONLY_ASKS = True
    BINDINGS: ClassVar[list[BindingType]] = [
        finishing("Go on", "Read the dates so and look at the file again")
    ]

    def __init__(self, place: str, question: Question, said: Said) -> None:
        super().__init__()
        self.PLACE = place  # type: ignore[misc]
        self.question, self.said = question, said

    def fields(self) -> tuple[Field, ...]:
        """Return a line for each column, with the two days in words."""
        return tuple(
            Field(
                *(column, self.question.heading_of(column), f"{cell} in the file", CHOOSE),
                choices=(CHOOSE, *days_of(cell)),
            )
            for column, cell in self.question.open_dates.items()
        )

    def set_up(self) -> None:
        """Say what is asked."""
        super().set_up()
        self.head(f"{self.question.file}: which day is meant?")
        self.lines[0].entry.focus()
        self.say("No date in these columns settles whether day or month stands first.")

    def action_keep(self) -> None:
        """Hand back the order of each column."""
        values = self.values()
        faults = {name: "choose the day" for name, value in values.items() if value == CHOOSE}
        if faults:
            self.post_message(self.Refused(faults))
            return
        orders = {
            name: tuple(DayOrder)[days_of(self.question.open_dates[name]).index(value)]
            for name, value in values.items()
        }
        self.dismiss(replace(self.said, dates={**self.said.dates, **orders}))

    def give_up(self) -> None:
        """Leave it open; its fault tells what is asked."""
        self.dismiss(None)


def days_of(cell: str) -> tuple[str, ...]:
    """Return the two days that a date can mean, day first and month first."""
    return tuple(f"{day.day} {day:%B %Y}" for day in both_days(cell) if day)
