"""Forms of a plan of the stock: a release of it, one change to it, a release proposed from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import FormPage, finishing
from panel.desk.pick import PickPage
from panel.desk.record_form import RecordForm
from panel.desk.typed import Entries, above_zero
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.desk.stock_plan_page import StockPlanPage
    from panel.questions.plan_changes import PlanChange
    from panel.questions.stock_plans import PlanFound
    from panel.questions.targets import TargetRecord


NO_RELEASE = "Name it; what holds for the plan as a whole: Limits on its page"


class PlannedReleaseForm(RecordForm):
    """One release of a plan."""

    PLACE = "releases"
    TITLE_WORDS = "A release of a plan"
    KIND = "plans"
    SEVERAL = True
    NEEDED = ("plan", "release", "year", "target", "bottles", "abv", "age", "rule_set", "limits")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("plan", "Plan", "a new name makes a new plan"),
        Field("release", "Release", "its name, such as Reed 2028"),
        Field("year", "Year", "such as 2028"),
        Field("target", "Target", picks=True),
        Field("bottles", "Bottles", "such as 1200"),
        Field("abv", "Strength", "% vol; empty: 46"),
        Field("age", "Age statement", "whole years, or empty"),
        Field("rule_set", "Rule set", "besides those in force, or empty"),
        Field("limits", "Limits", "casks 3-8; over 12; share make=A:0.3", wide=True),
    )

    @dataclass
    class Read(Message):
        """The targets have been read."""

        targets: list[TargetRecord]

    def __init__(self, values: Mapping[str, str] | None = None) -> None:
        super().__init__(values)
        self.targets: list[TargetRecord] | None = None

    @work(thread=True, exclusive=True, group="targets", exit_on_error=False)
    def read(self) -> None:
        """Read the targets to choose from."""
        from panel.questions.targets import target_records

        with self.desk.store.read() as db:
            targets = target_records(db)
        self.hand_over(self.Read(targets))

    def on_planned_release_form_read(self, message: Read) -> None:
        """Keep them for the list."""
        self.targets = message.targets

    def action_keep(self) -> None:
        """Keep a release by its name: a row without one is the plan as a whole, another form."""
        if "release" in self.values():
            super().action_keep()
        else:
            self.on_form_page_refused(self.Refused({"release": NO_RELEASE}))

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list of targets."""
        from panel.desk.targets import list_of_targets

        return None if self.targets is None else list_of_targets(self.targets, self.PLACE)

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return f"Plan {values['plan']}: {values['release']} in {values['year']}."


class PlanChangeForm(FormPage):
    """A cask held, a release moved, a note widened: what moves then; nothing is written."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Look", "See what moves")]
    ONLY_ASKS = True
    PLACE = "releases"
    TITLE_WORDS = "Change one thing, and see what moves"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("hold", "Hold the casks", "such as SW1505, SW1807"),
        Field("move", "Move", "a release, by its name"),
        Field("year", "To the year", "such as 2029"),
        Field("widen", "Widen the note", "such as plum stone"),
        Field("points", "By points", "such as 3"),
    )

    def __init__(self, page: StockPlanPage, release: str) -> None:
        super().__init__({"move": release} if release else None)
        self.page = page

    @dataclass
    class Ready(Message):
        """What was typed can be looked for."""

        change: PlanChange

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Look again with what was typed changed; with nothing, as it is recorded."""
        from panel.errors import EntriesAtFault
        from panel.questions.plan_changes import PlanChange, change_faults
        from panel.questions.plan_records import plan_record, stored_plan

        typed = Entries(values)
        year = typed.read("year", int, "a year such as 2029")
        points = typed.read("points", above_zero, "a number above zero")
        note = values.get("widen")
        if (note is None) != ("points" not in values):
            typed.faults["points"] = "a note and by how many points"
        casks = tuple(name.strip() for name in values.get("hold", "").split(",") if name.strip())
        move = values.get("move")
        change = PlanChange(
            hold=casks,
            move=((move, year),) if move is not None and year is not None else (),
            widen=((note, points),) if note is not None and points is not None else (),
        )
        with self.desk.store.read() as db:
            record = plan_record(stored_plan(db, self.page.plan))
            known = change_faults(db, record, change, as_of=self.desk.today())
        typed.faults = {**known, **typed.faults}
        try:
            typed.settle()
        except EntriesAtFault as error:
            self.hand_over(self.Refused(error.faults))
            return
        self.hand_over(self.Ready(change))

    def on_plan_change_form_ready(self, message: Ready) -> None:
        """Leave the form for the page that looks."""
        self.app.pop_screen()
        self.page.changed(message.change or None)


class ProposePlannedForm(DeedForm):
    """Why; keeping it reserves the casks that the plan has for one release."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Reserve", "Propose the release")]
    PLACE = "releases"
    ACT = Act.PROPOSE
    TITLE_WORDS = "Propose it as planned: its casks are reserved"
    FIELDS: ClassVar[tuple[Field, ...]] = (Field("reason", "Why", wide=True),)

    def __init__(self, found: PlanFound, release: str) -> None:
        super().__init__()
        self.found, self.release = found, release

    def set_up(self) -> None:
        """Say which release."""
        super().set_up()
        self.head(fact=self.release)

    def do(self, values: dict[str, str]) -> str:
        """Keep the casks beside the plan, then reserve those of the release."""
        from panel.release.from_plan import FromPlan, keep_plan, planned_proposal
        from panel.release.propose import propose
        from panel.words.plan_words import chance_since_words

        desk, now = self.desk, self.desk.now()
        with writing(desk.store) as db:
            keep_plan(db, self.found, on=desk.today(), now=now, by=desk.by)
        with self.reckoning(), desk.store.read() as db:
            known = desk.known.of(db, as_of=desk.today())
            asked = FromPlan(self.found.plan, self.release)
            proposal = planned_proposal(db, asked, as_of=desk.today(), profile=known)
        proposal = replace(proposal, reason=values.get("reason"))
        with writing(desk.store) as db:
            propose(db, self.release, proposal, as_of=desk.today(), now=now, by=desk.by)
        said = f"Release {self.release} is proposed, its casks reserved."
        since = proposal.since_kept
        return said if since is None else f"{said} {chance_since_words(since)}"
