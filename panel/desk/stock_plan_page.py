"""One plan of the stock: its releases with chance, bottles and casks; what one change moves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from threading import Event
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static
from textual.worker import Worker, WorkerState, get_current_worker

from panel.desk.acting import writing
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import WORDS_WIDTH, Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.page import Follows, Page
from panel.desk.slip import Confirm, ReadSlip
from panel.figures import count, in_digits
from panel.words.plan_words import (
    PlanRow,
    kept_words,
    opening_words,
    plan_lines,
    plan_rows,
    whole_words,
)

if TYPE_CHECKING:
    from analysis.pictures import Picture
    from analysis.under_way import Step
    from panel.questions.plan_changes import PlanChange
    from panel.questions.plan_records import PlanRecord
    from panel.questions.plan_since import CaskSince
    from panel.questions.stock_plans import PlanFound

LOOK_AGAIN = "It was cut short: comma looks again, to the end."

COLUMNS: tuple[Column[PlanRow], ...] = (
    Column("Release", 16, lambda r: r.release, stretch=True),
    Column("Year", 4, lambda r: str(r.year), lambda r: r.year),
    Column("Target", 10, lambda r: r.target),
    Column("Chance", 6, lambda r: r.chance, right=True),
    Column("Bottles", 11, lambda r: r.bottles, right=True),
    Column("Parts", 5, lambda r: r.casks, right=True),
    Column("Off", 4, lambda r: r.off, right=True),
    Column("Lacks", 5, lambda r: r.lacks, right=True),
    Column("Weakest note", 12, lambda r: r.worst),
)


class PlanTable(BigTable["PlanRow"]):
    """Releases of a plan, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class StockPlanPage(Page):
    """The answer above, a line a release below."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "releases"
    DEFAULT_CSS = """
    StockPlanPage #answer { height: auto; max-height: 8; padding: 0 1; text-style: bold; }
    StockPlanPage #whole { height: auto; max-height: 3; padding: 0 1; }
    StockPlanPage PlanTable { min-height: 4; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New line", "plan.new", "A release more"),
        key("l", "whole", "Limits", "plan.whole", "What holds for the plan as a whole"),
        key("j", "change", "Change", "plan.change", "See what one change moves"),
        key(
            "v", "words", "In words", "plan.words", "All of the answer: casks, prices, what left it"
        ),
        key("k", "keep", "Keep", "plan.keep", "Reserve this release's casks: propose it"),
        key("y", "years", "Years", "plan.years", "Draw its casks by release and year"),
        key("comma", "again", "Look again", "plan.again", "Where a look was cut short or failed"),
        key("minus", "less", "Less", "plan.less", "Stop looking; or take the release out"),
    ]
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer(
            "plan.keep_casks",
            "Keep its casks beside the plan",
            "keep_casks",
            "Reserves nothing; later the plan says what changed since",
        ),
        Offer(
            "plan.anew",
            "Plan the change anew",
            "anew",
            "Not from the last plan: takes longer, and may lie nearer",
        ),
        Offer("plan.drop", "Drop this plan", "drop", "Releases proposed from it stay"),
    )

    @dataclass
    class ReadLines(Message):
        """What is recorded has been read."""

        record: PlanRecord

    @dataclass
    class Read(Message):
        """Casks have been chosen."""

        found: PlanFound
        since: tuple[CaskSince, ...]
        otherwise: tuple[str, ...] = ()

    @dataclass
    class Done(Message):
        """Something was written."""

        news: str
        leave: bool = False

    def __init__(self, plan: str) -> None:
        super().__init__()
        self.plan = plan
        self.change: PlanChange | None = None
        self.record: PlanRecord | None = None
        self.found: PlanFound | None = None
        self.since: tuple[CaskSince, ...] = ()
        self.otherwise: tuple[str, ...] = ()
        self.ended = Event()
        self.looking = False
        self.just_stopped = False
        self.before: PlanChange | None = None
        self.asked = False

    def body(self) -> ComposeResult:
        """Put the answer over the releases."""
        yield Static(id="answer")
        yield Static(id="whole")
        yield PlanTable(COLUMNS, name_of=lambda r: r.release, empty="No release: n adds one.")

    def set_up(self) -> None:
        """Say which plan."""
        super().set_up()
        self.head(f"Plan {self.plan}")
        self.query_one(PlanTable).focus()

    @work(thread=True, exclusive=True, group="plan", exit_on_error=False)
    def read(self) -> None:
        """Read what is recorded, then look for casks."""
        from panel.questions.plan_changes import PlanChange
        from panel.questions.plan_records import plan_record, stored_plan
        from panel.questions.plan_since import changed_since, kept_otherwise
        from panel.questions.stock_plans import house_plan
        from panel.questions.waiting import waited_for

        self.ended.clear()
        job, today, desk = get_current_worker(), self.desk.today(), self.desk

        def tell(step: Step) -> None:
            if not job.is_cancelled and (
                self.found is None or self.asked
            ):  # else news of a form stays said
                self.post_message(self.HowFar(step.words))

        def stopped() -> bool:
            return job.is_cancelled or self.ended.is_set()

        with desk.store.read() as db:
            stored = stored_plan(db, self.plan)
            self.hand_over(self.ReadLines(plan_record(stored)))
            if not stored.releases:
                return
            with waited_for(tell, stopped):
                known = desk.known.of(db, as_of=today)
                found = house_plan(
                    *(db, self.plan),
                    as_of=today,
                    change=self.change or PlanChange(),
                    profile=known,
                )
            since = changed_since(db, stored, as_of=today)
            otherwise = kept_otherwise(stored, found)
        self.hand_over(self.Read(found, since, otherwise))

    def on_stock_plan_page_read_lines(self, message: ReadLines) -> None:
        """Show what is recorded while casks are looked for."""
        self.record, self.looking = message.record, bool(message.record.lines)
        self.query_one(PlanTable).fill(plan_rows(message.record, None))
        self.query_one("#whole", Static).update(Content(whole_words(message.record.limits)))
        self.head(fact=count(len(message.record.lines), "release"))
        if self.looking and (self.found is None or self.asked):
            self.say("Looking for casks ... minus stops it and gives the best so far.")
        self.refresh_bindings()

    def on_stock_plan_page_read(self, message: Read) -> None:
        """Show what was found."""
        first, self.asked = self.found is None or self.asked, False
        self.found, self.since, self.looking = message.found, message.since, False
        self.otherwise = message.otherwise
        if self.record is not None:
            self.query_one(PlanTable).fill(plan_rows(self.record, message.found))
        said = "\n".join(opening_words(message.found, message.since))
        self.query_one("#answer", Static).update(Content(said))
        if first:
            kept = kept_words(message.otherwise) if message.otherwise else ""
            self.say(LOOK_AGAIN if message.found.found.cut_short else kept)
        self.refresh_bindings()

    def can_now(self, action: str) -> bool:
        """Offer what needs casks only once they are found."""
        there = self.found if not self.looking else None
        if action == "whole":
            return self.record is not None
        if action in {"change", "words", "years"}:
            return there is not None
        if action == "again":
            cut = there is not None and there.found.cut_short
            return not self.looking and self.record is not None and (self.found is None or cut)
        if action == "anew":
            return there is not None and there.nearer_anew
        if action in {"keep", "keep_casks"}:
            return there is not None and not there.changed
        return super().can_now(action)

    def changed(self, change: PlanChange | None) -> None:
        """Look again with one thing changed, or as it is recorded; until then it is as it was."""
        self.before, self.change, self.asked = self.change, change, True
        self.read()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Where a look fails, keep the answer that was there before it."""
        super().on_worker_state_changed(event)
        if event.state is not WorkerState.ERROR or event.worker.group != "plan":
            return
        if self.asked:
            self.change, self.asked = self.before, False
        self.looking = False
        if self.ended.is_set() and self.found is None:
            self.say("Stopped before there was a plan to show: comma looks again.")
        if self.record is not None:
            self.query_one(PlanTable).fill(plan_rows(self.record, self.found))
        self.refresh_bindings()

    @property
    def row(self) -> PlanRow | None:
        """The release under the cursor."""
        return self.query_one(PlanTable).current

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Change the release of the arrow."""
        if self.record is None:
            return
        for line in self.record.lines:
            if line.release == event.row.release:
                values = {
                    **{"plan": self.plan, "release": line.release, "year": str(line.year)},
                    **{"target": line.target, "bottles": str(line.bottles)},
                    **{"abv": in_digits(line.abv_percent, "g"), "limits": line.limits or ""},
                    **{"age": "" if line.age_years is None else str(line.age_years)},
                    "rule_set": line.rule_set or "",
                }
                given = {name: value for name, value in values.items() if value}
                self.app.push_screen(page_of("planned release", given))

    def action_new(self) -> None:
        """Add a release."""
        self.app.push_screen(page_of("planned release", {"plan": self.plan}))

    def action_again(self) -> None:
        """Look once more for the same."""
        self.asked, self.just_stopped, self.before = True, False, self.change
        self.read()

    def action_whole(self) -> None:
        """Change what holds for the plan as a whole."""
        if self.record is not None:
            self.app.push_screen(page_of("plan whole", self.plan, self.record.limits))

    def action_change(self) -> None:
        """Ask what is to be changed."""
        row, settled = self.row, {} if self.found is None else self.found.settled
        moved = row.release if row is not None and row.release not in settled else ""
        form = page_of("plan change", self, moved)
        self.app.push_screen(form)

    def action_anew(self) -> None:
        """Look for the changed plan as if there had been none before it."""
        if self.change is not None:
            self.changed(replace(self.change, anew=True))

    def action_words(self) -> None:
        """Lay all of the answer over the page."""
        if self.found is not None:
            lines = plan_lines(self.found, self.since, WORDS_WIDTH, self.otherwise)
            self.app.push_screen(ReadSlip(f"Plan {self.plan}", lines))

    def action_years(self) -> None:
        """Draw the casks by release and year."""
        found = self.found
        if found is None:
            return

        def draw(_db: object) -> tuple[Picture, ...]:
            from panel.pictures.plans import casks_by_year

            return casks_by_year(found)

        self.app.push_screen(page_of("picture", self.PLACE, f"Plan {self.plan}", draw))

    def action_keep(self) -> None:
        """Ask why, then reserve the casks of the release of the arrow."""
        if self.row is not None and self.found is not None:
            self.app.push_screen(page_of("propose planned", self.found, self.row.release))

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def action_keep_casks(self) -> None:
        """Keep the casks that were found beside the plan."""
        from panel.release.from_plan import keep_plan

        if self.found is None:
            return
        desk = self.desk
        with writing(desk.store) as db:
            keep_plan(db, self.found, on=desk.today(), now=desk.now(), by=desk.by)
        self.hand_over(self.Done("Its casks are kept beside the plan; nothing is reserved."))

    def on_stock_plan_page_done(self, message: Done) -> None:
        """Tell it, and go on or back."""
        self.desk.wrote(message.news)
        if message.leave:
            self.app.pop_screen()
        else:
            self.say(self.desk.take_news())
            self.change = None  # it was of the plan as it stood before
            self.read()

    def action_less(self) -> None:
        """End the search with the best so far; else take the release of the arrow out."""
        if self.looking:
            self.just_stopped = True
            self.ended.set()
            self.say("Stopping ...")
        elif self.just_stopped and self.row is not None:
            self.just_stopped = False  # the same key, pressed once too often, takes nothing out
            self.say(f"It was stopped. Minus once more takes {self.row.release} out of the plan.")
        elif self.row is not None:
            self.ask_to_drop(self.row.release)

    def action_drop(self) -> None:
        """Take the whole plan out."""
        self.ask_to_drop(None)

    def ask_to_drop(self, release: str | None) -> None:
        """Drop a release of the plan, or all of it, on a yes."""
        what = f"release {release} out of plan {self.plan}" if release else f"plan {self.plan} out"

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.drop_it(release)

        lines = ["What was proposed from it stays as it is."]
        self.app.push_screen(Confirm(f"Take {what}?", lines), answered)

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def drop_it(self, release: str | None) -> None:
        """Take it out of the records."""
        from panel.release.from_plan import drop_plan

        desk = self.desk
        with writing(desk.store) as db:
            drop_plan(
                *(db, self.plan), release=release, on=desk.today(), now=desk.now(), by=desk.by
            )
        what = f"{release} is no longer in the plan." if release else f"Plan {self.plan} is gone."
        self.hand_over(self.Done(what, leave=release is None))
