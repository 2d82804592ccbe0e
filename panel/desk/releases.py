"""The releases: what is reserved, signed and bottled; a new one is blended from here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.slip import ReadSlip
from panel.kinds import ReleaseStatus

if TYPE_CHECKING:
    from analysis.profile import Profile
    from panel.release.lists import ReleaseLine
    from panel.store.engine import Session

EMPTY = """No releases yet. Press n to blend one for a target; its casks are then reserved.
Once they are poured, g keeps what they gave. The other steps are commands:
    oakpanel release bench | sign | bottle | sheet"""


COLUMNS: tuple[Column[ReleaseLine], ...] = (
    Column("Release", 20, lambda r: r.name, stretch=True),
    Column("Stands at", 9, lambda r: r.status),
    Column("For target", 14, lambda r: r.target or ""),
    Column("Planned", 10, lambda r: r.planned_on.isoformat()),
    Column("Casks", 5, lambda r: str(r.casks), lambda r: r.casks, right=True),
    Column("Bottles", 7, lambda r: f"{r.bottles or 0:,}", lambda r: r.bottles, right=True),
    Column("Lot", 10, lambda r: r.lot_code or ""),
)


class ReleaseTable(BigTable["ReleaseLine"]):
    """Releases, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class ReleasesPage(ListPage):
    """All releases; Enter shows one, n blends a new one."""

    PLACE = "releases"
    TITLE_WORDS = "Releases"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "blend", "New", "releases.new", "Blend a new release"),
        key("g", "disgorge", "Disgorge", "releases.gave", "Say what its casks gave"),
        key("p", "sheet", "Sheet", "releases.sheet", "The sheet for guides"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
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
        """Show one release."""
        self.show_record(event.row.name)

    @work(thread=True, exclusive=True, group="release", exit_on_error=False)
    def show_record(self, name: str) -> None:
        """Read everything that is kept of a release."""
        from panel.release.trace import record_of
        from panel.words.release import release_lines

        today = self.desk.today()
        with self.desk.store.read() as db:
            known = self.known_if_nosed(db, name)
            lines = release_lines(record_of(db, name, as_of=today, profile=known))
        self.hand_over(self.ToRead(name, lines))

    @work(thread=True, exclusive=True, group="release", exit_on_error=False)
    def show_sheet(self, name: str) -> None:
        """Read what may be told of a release."""
        from panel.release.sheet import sheet_of
        from panel.words.release_sheet import sheet_lines

        with self.desk.store.read() as db:
            known = self.known_if_nosed(db, name)
            sheet = sheet_of(db, name, as_of=self.desk.today(), profile=known)
        self.hand_over(self.ToRead(f"Sheet of {name}", sheet_lines(sheet, 70)))

    def known_if_nosed(self, db: Session, name: str) -> Profile | None:
        """Return the profile where a blend of the release was nosed; else nobody waits for it."""
        from panel.release.benched import is_nosed

        today = self.desk.today()
        return self.desk.known.of(db, as_of=today) if is_nosed(db, name, as_of=today) else None

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

    def action_blend(self) -> None:
        """Ask for which target, and how much."""
        self.app.push_screen(page_of("new blend"))

    def action_like(self) -> None:
        """Make a target of what the panel found in the release of the arrow."""
        from panel.desk.like_page import Source

        row: ReleaseLine | None = self.list.current
        if row is None:
            self.say("There is no release to be like yet.")
        else:
            self.app.push_screen(page_of("like", Source(release=row.name)))
