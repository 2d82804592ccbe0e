"""A form for one record, taken in by the same checks as a file's row."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work

from panel.desk.form import FormPage

if TYPE_CHECKING:
    from panel.intake.report import LoadReport
    from panel.problems import Problem

IT_IS_SO = "If it is so, keep it once more."
NOT_FROM_FILE = "This record stands there already, with the same values."


class RecordForm(FormPage):
    """One record of a kind. The fields are named as the columns of its file."""

    KIND: ClassVar[str] = ""
    NEEDED: ClassVar[tuple[str, ...]] = ()
    ONLY_NEW: ClassVar[bool] = False
    """Whether a record that stands there already is a fault, and not changed."""

    SEVERAL: ClassVar[bool] = False
    """Whether all faults of a field are told beside it, not only the first."""

    doubted: dict[str, str] | None = None
    """What was typed when values that are hardly so were asked about: kept once more, it is so."""

    def record(self, values: dict[str, str]) -> dict[str, str]:
        """Return the row: the needed columns always, the others where something stands."""
        return {**dict.fromkeys(self.NEEDED, ""), **values}

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept, in words."""
        return "Kept."

    def rows(self, values: dict[str, str]) -> list[dict[str, str]]:
        """Return the rows that are written together: one, but where a form is of several."""
        return [self.record(values)]

    def field_of(self, problem: Problem) -> str:
        """Return the field that a fault stands beside."""
        return problem.column

    def take_in(self, values: dict[str, str]) -> LoadReport:
        """Check the record and write it."""
        from panel.intake.kinds import Kind
        from panel.intake.loading import load_rows
        from panel.intake.typed_rows import as_meant
        from panel.intake.who_loads import loader

        desk = self.desk
        with desk.store.read() as db:
            by = loader(db, desk.by, Kind(self.KIND))
        return load_rows(
            *(desk.store, self.KIND, as_meant(Kind(self.KIND), self.rows(values))),
            now=desk.now(),
            by=by,
            first_row=0,
            only_new=self.ONLY_NEW,
            sure=values == self.doubted,
        )

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Check and write the record."""
        self.check_and_write(values)

    def check_and_write(self, values: dict[str, str]) -> None:
        """Check and write the record, within a job."""
        report = self.take_in(values)
        if report.problems:
            faults: dict[str, str] = {}
            for problem in report.problems:
                field, told = self.field_of(problem), problem.message
                if self.SEVERAL and field in faults:
                    told = f"{faults[field]}; {told}"
                faults[field] = told if self.SEVERAL else faults.get(field, told)
            if report.doubts == len(report.problems):
                self.doubted = values
                faults[""] = IT_IS_SO
            self.hand_over(self.Refused(faults))
        elif report.unchanged:
            self.hand_over(self.Refused({"": NOT_FROM_FILE}))
        else:
            self.post_message(self.Kept(self.news(values)))
