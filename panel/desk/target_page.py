"""A target and the casks that suit it, with how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from analysis.chance_words import in_percent
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.held_later import later_here
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.mind import TellsMind, mind_offer
from panel.desk.page import Follows
from panel.desk.slip import ReadSlip
from panel.desk.targets import aims
from panel.desk.ticks import TickTable, draw_ticked
from panel.figures import in_digits
from panel.words.stock_words import moved_notes, notes_day_words

if TYPE_CHECKING:
    from analysis.next_glasses import Change
    from analysis.pictures import Picture
    from analysis.target import CaskMatch, Match
    from panel.desk.page import Drawn, Handed
    from panel.questions.best_casks import BestTold
    from panel.questions.targets import TargetRecord
    from panel.store.engine import Session


NOTES_SHOWN = 2


def years(row: CaskMatch) -> str:
    """Return over how many years its notes were moved; a sign where its chance hangs on that."""
    if row.years_moved is None:
        return ""
    return f"{'!' if row.decides else ''}{in_digits(row.years_moved, '.1f')} y"


COLUMNS: tuple[Column[CaskMatch], ...] = (
    Column("Cask", 10, lambda m: f"{m.cask} !" if m.held_against else m.cask, lambda m: m.cask),
    Column("Prob.", 6, lambda m: in_percent(m.probability), lambda m: m.probability, right=True),
    Column("Distance", 8, lambda m: in_digits(m.distance, ".2f"), lambda m: m.distance, right=True),
    Column(
        "Furthest off",
        22,
        lambda m: f"{in_digits(m.worst_off, '+.1f')} {m.worst_descriptor}",
        stretch=True,
    ),
    Column("Scores", 6, lambda m: str(m.n_scores), lambda m: m.n_scores, right=True),
    Column("Last nosed", 10, lambda m: str(m.last_nosed or ""), lambda m: m.last_nosed),
    Column("Moved", 6, years, lambda m: m.years_moved, right=True),
)


class MatchTable(TickTable["CaskMatch"]):
    """Casks, best first, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class TargetPage(TellsMind):
    """Aims above, how sure the list is, then the casks."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "targets"
    DEFAULT_CSS = """
    TargetPage #aims { height: auto; max-height: 4; padding: 0 1; color: $secondary; }
    TargetPage #sure { height: auto; max-height: 10; padding: 0 1; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("d", "draw", "Draw", "target.draw", "Write down a draw of each cask ticked"),
        key("l", "lines", "Lines", "target.lines", "Read or change its lines"),
        key("i", "found", "Found", "target.found", "The cask beside the target"),
        key("w", "left_out", "Left out", "target.left_out", "Casks not ranked"),
        key("x", "write_page", "Hand on", "target.hand_on", "Write a page of it into a file"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
        mind_offer("target.mind"),
        Offer("target.next", "What to nose next", "nose_next", "And when to stop nosing"),
        Offer(
            *("target.beside", "Draw those to nose side by side", "tick_alike"),
            "Tick the casks that cannot be told from the first yet; d draws them",
        ),
    )

    @dataclass
    class Read(Message):
        """The casks have been ranked."""

        match: Match
        later: str

    @dataclass
    class Chosen(Message):
        """The best of them are known, and whether nosing on pays."""

        best: BestTold

    @dataclass
    class ReadAims(Message):
        """The target's lines have been read."""

        target: TargetRecord

    def __init__(self, target: TargetRecord) -> None:
        super().__init__()
        self.target = target
        self.match: Match | None = None
        self.best: BestTold | None = None
        self.later = ""

    def body(self) -> ComposeResult:
        """Aims, sureness, casks."""
        yield Static(Content(f"Aims: {aims(self.target)}"), id="aims")
        yield Static(id="sure")
        yield MatchTable(
            COLUMNS,
            name_of=lambda m: m.cask,
            empty="No cask was nosed on every line of this target yet.",
        )

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"Target {self.target.name}")
        self.say("Reckoning over all sessions; the other places can be used meanwhile ...")

    def read(self) -> None:
        """Read the aims and rank the casks."""
        self.read_aims()
        self.rank()

    @work(thread=True, exclusive=True, group="aims", exit_on_error=False)
    def read_aims(self) -> None:
        """Read the lines, which may have been changed above this page."""
        from panel.questions.targets import target_records

        with self.reckoning(), self.desk.store.read() as db:
            known = {record.name: record for record in target_records(db)}
        self.hand_over(self.ReadAims(known.get(self.target.name, self.target)))

    def on_target_page_read_aims(self, message: ReadAims) -> None:
        """Show the aims."""
        self.target = message.target
        self.query_one("#aims", Static).update(Content(f"Aims: {aims(self.target)}"))

    @work(thread=True, exclusive=True, group="match", exit_on_error=False)
    def rank(self) -> None:
        """Rank the casks."""
        from panel.questions.best_casks import best_casks
        from panel.questions.matching import target_match

        with self.reckoning(), self.desk.store.read() as db:
            today = self.desk.today()
            known = self.desk.known.of(db, as_of=today)
            match = target_match(db, self.target.name, as_of=today, profile=known)
            self.hand_over(self.Read(match, later_here(db, today)))
            best = best_casks(db, self.target.name, as_of=today, profile=known)
        self.hand_over(self.Chosen(best))

    def on_target_page_read(self, message: Read) -> None:
        """Show them."""
        match, self.later = message.match, message.later
        self.match = match
        self.best = None
        self.head(fact=f"{len(match.casks)} casks ranked")
        self._say()
        self.query_one(MatchTable).fill(match.casks)
        left_out = len(match.left_out)
        self.say(f"w shows {left_out} casks that could not be ranked, and why." if left_out else "")

    def on_target_page_chosen(self, message: Chosen) -> None:
        """Say which are the best."""
        self.best = message.best
        self._say()

    def _say(self) -> None:
        """How sure the ranking is, and once it is known the best of them."""
        from panel.words.best_words import best_in_short, sure_words

        match = self.match
        if match is None:
            return
        sure = sure_words(match, self.best)
        said = [f"{match.note} {sure}" if match.note else sure]
        said += [best_in_short(self.best)] if self.best is not None else []
        said += [notes_day_words(match.stock_on)] if match.stock_on else []
        said += list(moved_notes(match.casks))[:NOTES_SHOWN]
        said += [self.later] if self.later else []
        self.query_one("#sure", Static).update(Content("\n".join(said)))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show the cask's life."""
        self.app.push_screen(page_of("cask", event.row.cask))

    def drawn_as(self) -> Drawn | None:
        """The first casks of the ranking in units of the tolerance."""
        found = self.match
        if found is None:
            return None

        def draw(db: Session) -> list[Picture]:
            from panel.pictures.casks import ranked_casks

            day = self.desk.today()
            profile = self.desk.known.of(db, as_of=day)
            return [ranked_casks(db, found, as_of=day, profile=profile)]

        return f"Casks for {self.target.name}", draw

    def handed_on(self, reader: str) -> Handed | None:
        """The page of this target and its casks."""
        from panel.desk.handing import target_page

        return target_page(self.desk, self.target.name) if self.match else None

    def minded(self, db: Session) -> tuple[Change, ...] | None:
        """About the best casks, as they are told above the ranking."""
        from panel.questions.best_casks import best_casks

        if self.best is not None:
            return self.best.changes
        today = self.desk.today()
        known = self.desk.known.of(db, as_of=today)
        return best_casks(db, self.target.name, as_of=today, profile=known).changes

    def action_nose_next(self) -> None:
        """Show the session that tells most about which casks are the best."""
        from panel.questions.next_choices import NextChoice
        from panel.questions.next_wanted import NextWanted

        name = self.target.name
        asked = NextChoice("Best casks", name, NextWanted(target=name))
        self.app.push_screen(page_of("next", asked))

    def action_lines(self) -> None:
        """Show the target line by line, to read or to change."""
        self.app.push_screen(page_of("target lines", self.target.name))

    def action_draw(self) -> None:
        """Open the form for draws of the casks ticked, else of the one of the arrow."""
        draw_ticked(self, self.query_one(MatchTable), lambda row: row.cask)

    def action_tick_alike(self) -> None:
        """Tick the casks that cannot be told from the first, and open the form for their draws."""
        if self.match is None or not self.match.beside_first:
            self.say("No cask of the list has to be nosed beside the first one.")
            return
        wanted = {self.match.casks[0].cask, *self.match.beside_first}
        table = self.query_one(MatchTable)
        table.tick(row for row in self.match.casks if row.cask in wanted)
        self.action_draw()

    def action_found(self) -> None:
        """Show what the panel found in the cask of the arrow, beside this target."""
        row = self.query_one(MatchTable).current
        if row is not None:
            self.app.push_screen(page_of("found", row.cask, f"target {self.target.name}"))

    def action_left_out(self) -> None:
        """Show the casks that could not be ranked, and why."""
        if self.match is None:
            self.say("Still reckoning: which are not ranked is known in a moment.")
            return
        left_out = self.match.left_out
        lines = [f"{part.cask} ({part.sample}): {part.reason}" for part in left_out]
        lines = lines or ["All nosed casks are ranked."]
        if held := [cask for cask in self.match.casks if cask.held_against]:
            lines += ["", "Ranked, although (a ! behind the cask):"]
            lines += [f"{cask.cask}: {cask.held_against}" for cask in held]
        self.app.push_screen(ReadSlip("Not ranked", lines))
