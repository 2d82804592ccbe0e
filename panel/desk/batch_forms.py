"""The blind check of a batch beside the one before it, planned from the release's page."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import work

from panel.desk.entries import Field
from panel.desk.plan_form import PlanForm
from panel.desk.typed import DAY_HINT, Entries

if TYPE_CHECKING:
    from datetime import date

    from panel.desk.app import DeskApp
    from panel.desk.plan_jobs import TriedPlan
    from panel.release.batch_check import BatchChecked
    from panel.session.plan_parts import SessionPlan


class BatchCheckForm(PlanForm):
    """Name and day: both batches go twice to everybody, on the lines of the target."""

    PLACE = "releases"
    TITLE_WORDS = "Nose it blind beside the batch before"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("name", "Session", "such as Thursday 12"),
        Field("held_on", "Held on", f"empty: today; {DAY_HINT}"),
        Field("beside", "Beside", "empty: its bench blend; or the sample of a kept bottle"),
    )

    def __init__(self, release: str) -> None:
        super().__init__()
        self.release = release

    def read(self) -> None:  # type: ignore[override]
        """Everything else is known."""

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """See what the check takes without keeping it."""
        from panel.desk.plan_jobs import try_plan
        from panel.errors import EntriesAtFault, OakpanelError

        entries = Entries(values)
        name, day = (
            entries.needed("name", "a name, such as Thursday 12"),
            entries.near_day("held_on", self.desk.today()),
        )
        try:
            entries.settle()
            plan = self._plan(name, day or self.desk.today(), values.get("beside"))
            tried = try_plan(self.desk.store, plan, now=self.desk.now(), by=self.desk.by)
        except EntriesAtFault as error:
            self.hand_over(self.Refused(error.faults))
        except OakpanelError as refused:
            self.hand_over(self.Unplannable(str(refused).splitlines()))
        else:
            self.hand_over(self.Summed(tried))

    def _plan(self, name: str, on: date, beside: str | None) -> SessionPlan:
        from panel.release.batch_check import check_plan

        with self.desk.store.read() as db:
            return check_plan(db, self.release, name, held_on=on, beside=beside)

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def write(self, tried: TriedPlan) -> None:
        """Keep the draft, and which two samples are in question, in one transaction."""
        changed = keep_check(self.desk, self.release, tried)
        if changed is not None:
            self.post_message(self.Summed(changed))
            return
        short = self._too_little(tried)
        news = f"Draft {tried.plan.name} is kept: both batches, blind. s seals it."
        news = " ".join((news, *short))
        self.post_message(self.Kept(news))

    def _too_little(self, tried: TriedPlan) -> tuple[str, ...]:
        from panel.release.batch_check import too_little

        with self.desk.store.read() as db:
            return too_little(db, tried.plan)


def keep_check(desk: DeskApp, release: str, tried: TriedPlan) -> TriedPlan | None:
    """Write the draft as it was tried; return it anew where the records have changed meanwhile."""
    from panel.desk.acting import leading
    from panel.release.batch_check import name_check
    from panel.session.plan import plan_session

    with leading(desk.store, desk.by) as acting:
        summary = plan_session(acting.db, tried.plan, now=desk.now(), by=acting.by, bits=tried.bits)
        if tuple(summary.lines()) == tried.lines:
            name_check(acting.db, release, tried.plan, now=desk.now(), by=acting.by)
            return None
        acting.db.rollback()
    return replace(tried, lines=tuple(summary.lines()))


def read_check(desk: DeskApp, release: str) -> BatchChecked:
    """Return the blind check of a batch as it stands."""
    from panel.release.batch_check import checked_batch

    with desk.store.read() as db:
        return checked_batch(db, release, as_of=desk.today())


def keep_found(desk: DeskApp, release: str) -> str:
    """Keep what the check showed; return the news."""
    from panel.desk.acting import writing
    from panel.release.batch_check import keep_found as keep

    with writing(desk.store) as db:
        found = keep(db, release, on=desk.today(), now=desk.now(), by=desk.by)
    return f"Kept beside {found.release}: {(found.kept or {}).get('word')}."
