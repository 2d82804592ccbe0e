"""Saving records, what is laid out for a notebook, and templates to fill in."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType

from panel.desk.database_forms import NO_YES, path_in
from panel.desk.entries import Field
from panel.desk.file_field import FileForm
from panel.desk.form import finishing
from panel.desk.pick import PickPage
from panel.desk.pin_slip import proved
from panel.desk.sessions import COLUMNS
from panel.desk.typed import DAY_HINT, Entries
from panel.errors import EntriesAtFault, IntakeError
from panel.intake.kinds import GOES_WITH, LAID, Kind, goes_with
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.session.listed import SessionLine

LAID_HOLD = {
    "stock": "what lies in each cask on a day, for a notebook",
    "drawn": "each draw with what is known of its cask, for a notebook",
    "mixing": "how notes mix, for a notebook",
}
RECORDS = "all of them, as they are brought in again"
LAID_ONLY = "goes with stock, drawn and mixing only"
NOT_LAID = "does not go with stock, drawn or mixing"


class SaveForm(FileForm):
    """What is saved, and into which file."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Write", "Write the file")]
    PLACE = "house"
    TITLE_WORDS = "Save records"

    def __init__(self, kind: str = "") -> None:
        super().__init__({"kind": kind, "template": "yes"} if kind else {})
        self.sessions: list[SessionLine] | None = None
        self.proposed = ""

    def fields(self) -> tuple[Field, ...]:
        """Return what can be chosen."""
        return (
            Field("kind", "Kind", choices=(*(kind.value for kind in Kind), *LAID)),
            Field("file", "File", "ends in .csv or .xlsx", wide=True),
            Field("template", "Template", "yes: headings to fill in", choices=NO_YES),
            Field("force", "Replace", "yes replaces a file of that name", choices=NO_YES),
            Field("names", "Real names", "assessors only; for a lead", choices=NO_YES),
            Field("wide", "Wide", "scores: one column a descriptor", choices=NO_YES),
            Field("session", "Sessions", "scores: only these; empty is all", picks=True),
            Field("as_of", "As of", f"notebook: {DAY_HINT}; empty is today"),
            Field("bottling_on", "Bottling on", "stock: casks as they will be then"),
        )

    def set_up(self) -> None:
        """Propose a name."""
        super().set_up()
        self.on_choice_line_changed()
        self.lines[0].entry.focus()
        self.first = self.values()

    @work(thread=True, exclusive=True, group="sessions", exit_on_error=False)
    def read(self) -> None:
        """Read the sessions that can be chosen."""
        from panel.session.listed import list_sessions

        with self.desk.store.read() as db:
            self.sessions = [line for line in list_sessions(db) if line.status == "revealed"]

    def on_choice_line_changed(self) -> None:
        """Say what the kind is, and propose a name as long as none was typed."""
        kind, line = self.values()["kind"], self.line_of("file")
        self.lines[0].hint = LAID_HOLD.get(kind, RECORDS)
        self.lines[0].show_hint(self.lines[0].hint)
        if line is not None and line.entry.value in {"", self.proposed}:
            self.proposed = line.entry.value = f"{kind}.csv"

    def choices_for(self, name: str) -> PickPage | None:
        """Return the revealed sessions."""
        if self.sessions is None:
            return None
        return PickPage(
            "Which sessions?",
            self.sessions,
            COLUMNS,
            name_of=lambda line: line.name,
            place=self.PLACE,
            many=True,
            ticked=self.values().get(name, "").splitlines(),
        )

    def look(self, values: dict[str, str]) -> Path:
        """Return the file, once nothing was chosen that does not go with the kind."""
        path = path_in(values, "file", "name a file")
        typed = Entries(values)
        typed.near_day("as_of", self.desk.today())
        typed.near_day("bottling_on", self.desk.today())
        if path.exists() and values["force"] != "yes":
            typed.faults["file"] = "it is there already: a new name, or replace it"
        typed.faults |= misplaced(values)
        typed.settle()
        return path

    def action_keep(self) -> None:
        """Real names are for a lead, who proves to be one."""
        if self.values()["names"] != "yes":
            super().action_keep()
            return
        try:
            self.look(self.values())
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
        else:
            proved(self.desk, Act.EXPORT, self._check)

    def do(self, values: dict[str, str]) -> str:
        """Write the file."""
        path = self.look(values)
        try:
            return self._laid(values, path) if values["kind"] in LAID else self._saved(values, path)
        except IntakeError as error:
            raise EntriesAtFault({"file": str(error)}) from error

    def _saved(self, values: dict[str, str], path: Path) -> str:
        from panel.intake.saving import save_file, save_template
        from panel.intake.who_loads import refuse_names

        store, names, force = self.desk.store, values["names"] == "yes", values["force"] == "yes"
        if values["template"] == "yes":
            return f"{save_template(values['kind'], path, names=names, force=force).sentence()}."
        if names:
            with store.read() as db:
                refuse_names(db, self.desk.by)
        report = save_file(
            store,
            values["kind"],
            path,
            names=names,
            wide=values["wide"] == "yes",
            sessions=values.get("session", "").splitlines(),
            force=force,
        )
        return " ".join([f"{report.sentence()}.", *report.left_out])

    def _laid(self, values: dict[str, str], path: Path) -> str:
        from panel.questions.laid_out import Laid, save_laid

        as_of = read_day(values, "as_of") or self.desk.today()
        with self.desk.store.read() as db:
            report = save_laid(
                db,
                Laid(values["kind"]),
                path,
                as_of=as_of,
                on=read_day(values, "bottling_on"),
                force=values["force"] == "yes",
            )
        return f"{report.sentence()}."


def read_day(values: dict[str, str], name: str) -> date | None:
    """Return a date that was looked at before."""
    return Entries(values).day(name)


def misplaced(values: dict[str, str]) -> dict[str, str]:
    """Return what was chosen that does not go with the kind, by field."""
    kind = values["kind"]
    chosen = [name for name in GOES_WITH if values.get(name, "no") != "no"]
    faults = {name: goes_with(name) for name in chosen if kind not in GOES_WITH[name]}
    if kind in LAID:
        return faults | ({"template": NOT_LAID} if values["template"] == "yes" else {})
    return faults | {name: LAID_ONLY for name in ("as_of", "bottling_on") if values.get(name)}
