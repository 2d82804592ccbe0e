"""The releases: what is reserved, signed and bottled; a new one is blended from here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk import release_jobs
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.slip import Confirm, ReadSlip
from panel.desk.tasting_form import TITLES, Wanted
from panel.desk.ticks import TickTable
from panel.kinds import ReleaseStatus
from panel.words.answers import paragraph

if TYPE_CHECKING:
    from analysis.vatting import MixingLearned
    from panel.release.lists import ReleaseLine

EMPTY = """No releases yet: n blends one for a target and reserves its casks.
Enter then opens its page, with every step from the bench blend to the bottle."""


COLUMNS: tuple[Column[ReleaseLine], ...] = (
    Column("Release", 20, lambda r: r.name, stretch=True),
    Column("Stands at", 9, lambda r: r.status),
    Column("For target", 14, lambda r: r.target or ""),
    Column("Planned", 10, lambda r: r.planned_on.isoformat()),
    Column("Casks", 5, lambda r: str(r.casks), lambda r: r.casks, right=True),
    Column("Bottles", 7, lambda r: f"{r.bottles or 0:,}", lambda r: r.bottles, right=True),
    Column("Lot", 10, lambda r: r.lot_code or ""),
)


class ReleaseTable(TickTable["ReleaseLine"]):
    """Releases, with a key for each column; some are ticked for a tasting."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class ReleasesPage(ListPage):
    """All releases; Enter goes to one, n blends a new one."""

    PLACE = "releases"
    TITLE_WORDS = "Releases"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "blend", "New", "releases.new", "Blend a new release"),
        key("g", "disgorge", "Disgorge", "releases.gave", "Say what its casks gave"),
        key("p", "sheet", "Sheet", "releases.sheet", "The sheet for guides"),
    ]
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer(
            "releases.mixing",
            "What bench blends teach",
            "mixing",
            "How each note mixes by the blends nosed so far; it may be kept",
        ),
        Offer(
            "releases.exponent",
            "How a note mixes, by hand",
            "exponent",
            "Set the exponent of a note yourself",
        ),
        Offer(
            "releases.cards",
            "Cards for a tasting",
            "cards",
            "A card a pour for the guide, of three to six ticked",
        ),
        Offer(
            "releases.paper",
            "Guests' sheet for a tasting",
            "cards(True)",
            "On which guests score three notes, of the same ticked",
        ),
        Offer(
            "releases.guests",
            "Guests' scores of a tasting",
            "scores",
            "Type their sheets and see them beside the panel, of the same ticked",
        ),
        Offer(
            "releases.plans",
            "Plans of the stock",
            "plans",
            "Which cask for which release, over the years",
        ),
        Offer(
            "releases.remarks",
            "Remarks on bottles",
            "remarks",
            "What people said of them, and the way back to the casks",
        ),
        Offer("releases.like", "A target like this release", "like", "As its blend was nosed"),
    )

    @dataclass
    class Read(Message):
        """The releases have been read."""

        releases: list[ReleaseLine]

    @dataclass
    class ToRead(Message):
        """Lines to lay over the list."""

        title: str
        lines: list[str]

    @dataclass
    class Learnt(Message):
        """What bench blends teach."""

        found: MixingLearned

    @dataclass
    class Told(Message):
        """Something was kept."""

        news: str

    @dataclass
    class ToTaste(Message):
        """Releases that make a tasting, and what of it is wanted."""

        names: tuple[str, ...]
        wanted: Wanted

    @dataclass
    class ToDisgorge(Message):
        """The parts of a release, to say what each gave."""

        name: str
        parts: list[dict[str, Any]]

    def table(self) -> BigTable[ReleaseLine]:
        """Make the table of releases."""
        return ReleaseTable(COLUMNS, name_of=lambda r: r.name, empty=EMPTY)

    @work(thread=True, exclusive=True, group="releases", exit_on_error=False)
    def read(self) -> None:
        """Read all releases."""
        from panel.release.lists import listed_releases

        with self.desk.store.read() as db:
            found = listed_releases(db)
        self.hand_over(self.Read(found))

    def on_releases_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(message.releases)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Go to one release."""
        self.app.push_screen(page_of("release", event.row.name))

    @work(thread=True, exclusive=True, group="release", exit_on_error=False)
    def show_sheet(self, name: str) -> None:
        """Read what may be told of a release."""
        lines = release_jobs.read_sheet(self.desk, name, release_jobs.WIDE)
        self.hand_over(self.ToRead(f"Sheet of {name}", lines))

    @work(thread=True, exclusive=True, group="release", exit_on_error=False)
    def read_parts(self, name: str) -> None:
        """Read which casks are to give what."""
        from panel.release.trace import parts_of

        with self.desk.store.read() as db:
            parts = parts_of(db, name)
        self.hand_over(self.ToDisgorge(name, parts))

    def on_releases_page_to_disgorge(self, message: ToDisgorge) -> None:
        """Ask what each cask gave."""
        self.app.push_screen(page_of("disgorge", message.name, message.parts))

    def on_releases_page_to_read(self, message: ToRead) -> None:
        """Lay the lines over the list."""
        self.app.push_screen(ReadSlip(message.title, message.lines))

    def action_disgorge(self) -> None:
        """Say what the casks of the release under the cursor gave."""
        row: Any = self.list.current
        if row is None or row.status != ReleaseStatus.PROPOSED:
            self.say("Only a release that is proposed and not signed yet is disgorged.")
        else:
            self.read_parts(row.name)

    def action_sheet(self) -> None:
        """Show the sheet of the release under the cursor."""
        row: Any = self.list.current
        if row is None:
            self.say("There is no release to tell of yet.")
        else:
            self.show_sheet(row.name)

    def action_remarks(self) -> None:
        """Show what people said of bottles."""
        self.app.push_screen(page_of("remarks"))

    def action_blend(self) -> None:
        """Ask for which target, and how much."""
        self.app.push_screen(page_of("new blend"))

    def action_plans(self) -> None:
        """Go to the plans of the stock."""
        self.app.push_screen(page_of("stock plans"))

    def action_mixing(self) -> None:
        """See what the blends nosed so far teach."""
        self.say("Reckoning over all sessions ...")
        self.learn()

    @work(thread=True, exclusive=True, group="mixing", exit_on_error=False)
    def learn(self) -> None:
        """Reckon it."""
        from panel.desk.mixing_forms import learnt

        with self.reckoning():
            found = learnt(self.desk)
        self.hand_over(self.Learnt(found))

    def on_releases_page_learnt(self, message: Learnt) -> None:
        """Show it; keep it on a yes where there is something to keep."""
        from panel.words.release import mixing_lines

        self.say("")
        found = message.found
        lines = mixing_lines(found, release_jobs.WIDE)
        if not any(note.learnt for note in found.notes):
            self.app.push_screen(ReadSlip("What bench blends teach", lines))
            return

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.keep_mixing(found)

        self.app.push_screen(Confirm("Use what the blends say from now on?", lines), answered)

    @work(thread=True, exclusive=True, group="mixing", exit_on_error=False)
    def keep_mixing(self, found: MixingLearned) -> None:
        """Keep it for blending."""
        from panel.desk.mixing_forms import keep_learnt

        self.post_message(self.Told(f"Kept for {', '.join(keep_learnt(self.desk, found))}."))

    def on_releases_page_told(self, message: Told) -> None:
        """Say what was kept."""
        self.desk.wrote(message.news)
        self.say(self.desk.take_news())

    def action_exponent(self) -> None:
        """Ask for which note, and how it mixes."""
        self.app.push_screen(page_of("exponent"))

    def action_like(self) -> None:
        """Make a target of what the panel found in the release of the arrow."""
        from panel.desk.like_page import Source

        row: ReleaseLine | None = self.list.current
        if row is None:
            self.say("There is no release to be like yet.")
        else:
            self.app.push_screen(page_of("like", Source(release=row.name)))

    def action_cards(self, paper: bool = False) -> None:
        """Lay out a tasting of the releases ticked: the guide's cards, or the guests' sheet."""
        self.taste(self.ticked, Wanted.PAPER if paper else Wanted.CARDS)

    def action_scores(self) -> None:
        """Type what guests scored of the releases ticked."""
        self.taste(self.ticked, Wanted.GUESTS)

    @property
    def ticked(self) -> tuple[str, ...]:
        """The releases ticked, else that of the arrow."""
        return tuple(row.name for row in self.query_one(ReleaseTable).chosen)

    @work(thread=True, exclusive=True, group="cards", exit_on_error=False)
    def taste(self, names: tuple[str, ...], wanted: Wanted) -> None:
        """See whether these make a tasting."""
        from panel.errors import ReleaseError
        from panel.release.tasting import check_chosen

        try:
            with self.desk.store.read() as db:
                check_chosen(db, names)
        except ReleaseError as error:
            self.hand_over(self.ToRead(TITLES[wanted], paragraph(str(error), release_jobs.WIDE)))
        else:
            self.hand_over(self.ToTaste(names, wanted))

    def on_releases_page_to_taste(self, message: ToTaste) -> None:
        """Ask how much is poured."""
        self.app.push_screen(page_of("tasting", message.names, message.wanted))
