"""One release: what is in it, what was foretold and nosed, what is next; every step from here."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk import release_jobs
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.late_words import LateWords
from panel.desk.mind import TellsMind, mind_offer
from panel.desk.release_words import page_lines, what_is_next
from panel.desk.slip import Confirm, ReadSlip
from panel.kinds import ReleaseStatus

if TYPE_CHECKING:
    from analysis.next_glasses import VatMind
    from panel.desk.page import Drawn, Handed
    from panel.release.batch_check import BatchChecked
    from panel.release.signing import BeforeSigning
    from panel.store.engine import Session

PROPOSED, SIGNED = ReleaseStatus.PROPOSED.value, ReleaseStatus.SIGNED.value


class ReleasePage(TellsMind):
    """The record of a release; the keys are those of its stage."""

    PLACE = "releases"
    DEFAULT_CSS = """
    ReleasePage #record { padding: 0 1; }
    ReleasePage #next { height: auto; padding: 0 1; color: $accent; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("d", "bench", "Bench", "release.bench", "A bench blend of it, as a draw"),
        key("g", "disgorge", "Disgorge", "release.gave", "Say what its casks gave"),
        key("s", "sign", "Sign", "release.sign", "A second person signs, by their PIN"),
        key("k", "bottle", "Bottle", "release.bottle", "Bottled: nothing changes any more"),
        key("p", "sheet", "Sheet", "release.sheet", "The sheet for guides, to read"),
        key("minus", "cancel", "Cancel", "release.cancel", "Give it up; its casks are free"),
        key("x", "write_page", "Hand on", "release.hand_on", "Write a page of it into a file"),
        key("b", "check", "Beside", "release.check", "Nose it blind beside the batch before"),
        key("y", "years", "Years", "release.years", "All batches of its target, drawn"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
        mind_offer("release.mind"),
        Offer("release.shown", "What the blind check showed", "shown", "It may be kept with it"),
        Offer("release.next", "What to nose next", "nose_next", "Until it is surely within"),
        Offer("release.house", "A page for the house", "write_page('house')", "All of its record"),
        Offer("release.guest", "A page for a guest", "write_page('guest')", "Once it is bottled"),
        Offer("release.file", "The sheet as plain text", "hand_on", "For guides, in a new file"),
    )

    @dataclass
    class Read(Message):
        """The record has been read."""

        record: dict[str, Any]
        later: str

    @dataclass
    class ToRead(Message):
        """Lines to lay over the page."""

        title: str
        lines: list[str]

    @dataclass
    class Checked(Message):
        """What the blind check beside the batch before shows."""

        found: BatchChecked

    @dataclass
    class ToSign(Message):
        """What whoever signs sees first."""

        before: BeforeSigning

    def __init__(self, release: str) -> None:
        super().__init__()
        self.release = release
        self.record: dict[str, Any] = {}

    def body(self) -> ComposeResult:
        """The record, scrolled; what is next stays in view."""
        with VerticalScroll():
            yield Static(id="record")
        yield Static(id="next")
        yield LateWords()

    def set_up(self) -> None:
        """Say which release."""
        super().set_up()
        self.head(f"Release {self.release}")
        self.query_one(VerticalScroll).focus()

    @work(thread=True, exclusive=True, group="release", exit_on_error=False)
    def read(self) -> None:
        """Read everything that is kept of it."""
        with self.reckoning():
            record, later = release_jobs.read_record(self.desk, self.release)
        self.hand_over(self.Read(record, later))

    def on_release_page_read(self, message: Read) -> None:
        """Show it."""
        self.record = message.record
        self.head(fact=str(self.record["status"]))
        self.query_one("#record", Static).update(Content("\n".join(page_lines(self.record))))
        self.query_one("#next", Static).update(Content(what_is_next(self.record)))
        self.query_one(LateWords).tell([message.later])
        self.refresh_bindings()

    def can_now(self, action: str) -> bool:
        """Offer only what this stage allows."""
        status = self.record.get("status")
        poured = bool(self.record.get("disgorged_on"))
        allowed = {
            "bench": status in {PROPOSED, SIGNED},
            "disgorge": status == PROPOSED,
            "sign": status == PROPOSED and poured,
            "bottle": status == SIGNED,
            "sheet": bool(status),
            "check": self.follows and status in {PROPOSED, SIGNED},
            "shown": self.follows,
            "years": bool(self.record.get("target")),
            "hand_on": bool(status),
            "mind": status in {PROPOSED, SIGNED},
            "nose_next": status in {PROPOSED, SIGNED},
            "cancel": status == PROPOSED and not poured,
        }
        return allowed[action] if action in allowed else super().can_now(action)

    @property
    def follows(self) -> bool:
        """Whether it is a batch after another."""
        return self.record.get("batch") is not None

    def action_check(self) -> None:
        """Ask when it is nosed beside the batch before."""
        self.app.push_screen(page_of("batch check", self.release))

    def action_years(self) -> None:
        """Draw all batches of its target."""
        target = str(self.record["target"])
        draw = partial(release_jobs.read_batches, self.desk, target)
        self.app.push_screen(page_of("picture", self.PLACE, f"Batches of {target}", draw))

    @work(thread=True, exclusive=True, group="check", exit_on_error=False)
    def action_shown(self) -> None:
        """Reckon what the blind check shows."""
        from panel.desk.batch_forms import read_check

        with self.reckoning():
            found = read_check(self.desk, self.release)
        self.hand_over(self.Checked(found))

    def on_release_page_checked(self, message: Checked) -> None:
        """Show it; keep it on a yes where it is new."""
        from panel.words.batch_words import checked_lines

        found = message.found
        lines = checked_lines(found, release_jobs.WIDE)
        if found.found is None or found.kept is not None:
            self.app.push_screen(ReadSlip("Beside the batch before", lines))
            return

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.keep_shown()

        self.app.push_screen(Confirm("Keep this beside the batch?", lines), answered)

    @work(thread=True, exclusive=True, group="check", exit_on_error=False)
    def keep_shown(self) -> None:
        """Keep what the check showed."""
        from panel.desk.batch_forms import keep_found

        news = keep_found(self.desk, self.release)
        self.hand_over(self.ToRead("Kept", [news]))
        self.read()

    def drawn_as(self) -> Drawn | None:
        """Its notes on the house's lines."""
        if not self.record:
            return None
        return f"Release {self.release}", partial(release_jobs.read_rails, self.desk, self.release)

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of this release for a reader."""
        from panel.desk.handing import release_page

        return release_page(self.desk, self.release, reader) if self.record else None

    def minded(self, db: Session) -> VatMind | None:
        """About its vatting."""
        from panel.release.next_glasses import would_change_release

        day = self.desk.today()
        known = self.desk.known.of(db, as_of=day)
        return would_change_release(db, self.release, as_of=day, profile=known)

    def action_nose_next(self) -> None:
        """Show the session that tells most about whether it is within tolerance."""
        from panel.questions.next_choices import NextChoice
        from panel.questions.next_wanted import NextWanted

        asked = NextChoice("Within tolerance", self.release, NextWanted(), self.release)
        self.app.push_screen(page_of("next", asked))

    def action_bench(self) -> None:
        """Ask how much."""
        self.app.push_screen(page_of("bench", self.release))

    def action_disgorge(self) -> None:
        """Ask what each cask gave."""
        self.app.push_screen(page_of("disgorge", self.release, self.record["parts"]))

    def action_sign(self) -> None:
        """See what stands against it, then ask who signs."""
        self.say("Looking ...")
        self.look()

    @work(thread=True, exclusive=True, group="step", exit_on_error=False)
    def look(self) -> None:
        """Reckon what whoever signs has to see."""
        with self.reckoning():
            before = release_jobs.read_before_signing(self.desk, self.release)
        self.hand_over(self.ToSign(before))

    def on_release_page_to_sign(self, message: ToSign) -> None:
        """Ask who signs, and for their PIN."""
        self.say("")
        self.app.push_screen(page_of("sign", self.release, message.before))

    def action_bottle(self) -> None:
        """Ask how many were filled."""
        found = self.record.get("found") or {}
        self.app.push_screen(page_of("bottle", self.release, int(found.get("bottles") or 0)))

    def action_cancel(self) -> None:
        """Ask why."""
        self.app.push_screen(page_of("cancel", self.release))

    @work(thread=True, exclusive=True, group="sheet", exit_on_error=False)
    def action_sheet(self) -> None:
        """Read what may be told of it."""
        with self.reckoning():
            lines = release_jobs.read_sheet(self.desk, self.release, release_jobs.WIDE)
        self.hand_over(self.ToRead(f"Sheet of {self.release}", lines))

    @work(thread=True, exclusive=True, group="sheet", exit_on_error=False)
    def action_hand_on(self) -> None:
        """Write the sheet into a new file."""
        path = release_jobs.write_sheet(self.desk, self.release)
        self.hand_over(self.ToRead("The sheet is written", [str(path)]))

    def on_release_page_to_read(self, message: ToRead) -> None:
        """Lay the lines over the page."""
        self.app.push_screen(ReadSlip(message.title, message.lines))
