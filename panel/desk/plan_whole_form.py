"""A form for what holds for a plan of the stock as a whole, filled in with what is recorded."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from textual import work

from panel.desk.entries import Field
from panel.desk.record_form import RecordForm
from panel.records.plan_limits import clauses, plan_asks

if TYPE_CHECKING:
    from panel.problems import Problem


def typed_clauses(limits: str | None) -> dict[str, str]:
    """Return limits of a plan by their first word, those of one word beside each other."""
    found: dict[str, list[str]] = {}
    for word, rest in clauses(limits):
        found.setdefault(word, []).append(rest)
    return {word: "; ".join(rests) for word, rests in found.items()}


def as_limits(values: Mapping[str, str]) -> str:
    """Return what was typed field by field as one text of limits."""
    return "; ".join(
        f"{word} {rest.strip()}"
        for word, typed in values.items()
        for rest in typed.split(";")
        if rest.strip()
    )


class PlanWholeForm(RecordForm):
    """Most litres a year, what must stay, what is expected, what is held: of all its releases."""

    PLACE = "releases"
    TITLE_WORDS = "What holds for the plan as a whole"
    KIND = "plans"
    SEVERAL = True
    NEEDED = ("plan", "release", "year", "target", "bottles", "limits")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("draw", "Draw at most", "litres a year, such as 40000"),
        Field("stay", "Must stay", "20000 make=Reed age=10-18; 5000", wide=True),
        Field("fill", "Expected", "2027-04-01 4 x 200 L at 63.5 wood=oak butt", wide=True),
        Field("hold", "Left out", "casks, such as SW1505; SW1807", wide=True),
    )

    def __init__(self, plan: str, limits: str | None) -> None:
        super().__init__(typed_clauses(limits))
        self.plan = plan

    def set_up(self) -> None:
        """Say which plan."""
        super().set_up()
        self.head(fact=self.plan)

    def record(self, values: dict[str, str]) -> dict[str, str]:
        """Return the row of the plan without a release."""
        row = {"plan": self.plan, "limits": as_limits(values)}
        return {**dict.fromkeys(self.NEEDED, ""), **row}

    def field_of(self, problem: Problem) -> str:
        """A fault that no field has by itself stands in the line of words."""
        return "" if problem.column == "limits" else problem.column

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Keep it once every field reads; a field at fault says so itself."""
        told = {word: plan_asks(as_limits({word: typed}))[1] for word, typed in values.items()}
        if faults := {word: "; ".join(found) for word, found in told.items() if found}:
            self.hand_over(self.Refused(faults))
        else:
            self.check_and_write(values)

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return f"Plan {self.plan} as a whole: {as_limits(values)}."
