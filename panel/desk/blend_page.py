"""Blending by hand: a share moves, and profile, chance, litres and stock follow at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from analysis.chance_words import chance
from panel.desk.big_table import BigTable
from panel.desk.blend_lines import BlendRow, blend_rows, profile_lines, stock_lines, sum_lines
from panel.desk.blend_table import COLUMNS, BlendTable
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.late_words import LateWords
from panel.desk.mind import TellsMind, mind_offer
from panel.desk.page import Follows
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.next_glasses import VatMind
    from analysis.pictures import Picture
    from analysis.target import Target
    from analysis.vatting import Limits, SharesTried
    from panel.desk.page import Drawn, Handed
    from panel.questions.blending import BlendStart
    from panel.questions.vatting import HouseStock
    from panel.release.batch import AsBatch
    from panel.store.engine import Session

STEP_L = 5.0


class BlendPage(TellsMind):
    """Casks and litres above, what they come to below."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "releases"
    DEFAULT_CSS = """
    BlendPage BlendTable { min-height: 4; }
    BlendPage #sums { height: auto; max-height: 6; padding: 0 1; }
    BlendPage #profile { height: auto; max-height: 9; padding: 0 1; }
    """
    OFFERS: ClassVar[tuple[Offer, ...]] = (mind_offer("blend.mind"),)
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "add", "Add", "blend.add", "Take another cask in"),
        key("d", "trial", "Draw", "blend.draw", "Write down a trial of it, to be nosed"),
        key("j", "ask", "Choose anew", "blend.ask", "Ask for the best choice"),
        key("v", "stock", "Stock", "blend.stock", "What stays in stock by wood"),
        key(
            "f",
            "unnosed",
            "Never nosed",
            "blend.unnosed",
            "Casks nobody nosed, as foretold: in or out",
        ),
        key("k", "keep", "Keep", "blend.keep", "Reserve it as a release"),
        key("x", "write_page", "Hand on", "blend.hand_on", "Write a page of it into a file"),
    ]

    @dataclass
    class Read(Message):
        """The stock is known, and the first choice of casks."""

        start: BlendStart
        later: str

    @dataclass
    class Tried(Message):
        """What the litres come to."""

        tried: SharesTried | None
        why: str

    def __init__(self, target: str, limits: Limits, batch: AsBatch | None = None) -> None:
        super().__init__()
        self.target = target
        self.asked = self.limits = limits
        self.like = batch
        self.litres: dict[str, float] = {}
        self.house: HouseStock | None = None
        self.aim: Target | None = None
        self.tried: SharesTried | None = None
        self.with_foretold = False

    def body(self) -> ComposeResult:
        """Stack casks, sums and profile."""
        yield BlendTable(COLUMNS, name_of=lambda r: r.cask, empty="No cask in it: n adds one.")
        yield LateWords()
        yield Static(id="sums")
        yield Static(id="profile")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        like = "" if self.like is None else f" like {self.like.lot}"
        self.head(f"Blend for {self.target}{like}: {self.limits.quantity_words}")
        self.say("Reckoning over all sessions and all casks ...")

    @property
    def bounds(self) -> Limits:
        """What limits the choice; of a blend like a batch without the shares of that one.

        They are among the limits once the batch was read: not to be added twice.
        """
        return self.limits if self.like is None else self.asked

    @work(thread=True, exclusive=True, group="choose", exit_on_error=False)
    def read(self) -> None:
        """Read the stock and ask for a choice of casks to begin with."""
        from panel.desk.blend_jobs import read_start

        about = (self.desk, self.target, self.bounds, self.like)
        with self.reckoning():
            start, later = read_start(*about, with_foretold=self.with_foretold)
        self.hand_over(self.Read(start, later))

    def on_blend_page_read(self, message: Read) -> None:
        """Begin with the choice, or with nothing and the reason."""
        start = message.start
        self.house, self.aim, self.limits = start.house, start.aim, start.limits
        mixture = getattr(start.answer.found, "mixture", None) if start.answer else None
        if mixture is not None:
            self.litres = {part.cask: part.litres for part in mixture.parts}
        self.say(start.why, trouble=bool(start.why))
        self.query_one(LateWords).tell([message.later])
        self.query_one(BlendTable).focus()
        self.reckon()

    def reckon(self) -> None:
        """Show the casks now, and what they come to as soon as it is known."""
        if self.house is None or self.aim is None:
            return
        self.query_one(BlendTable).fill(blend_rows(self.house.stock, self.litres))
        self.try_them(self.house, self.aim, dict(self.litres))

    @work(thread=True, exclusive=True, group="try", exit_on_error=False)
    def try_them(self, house: HouseStock, aim: Target, litres: dict[str, float]) -> None:
        """Reckon what the litres come to."""
        from panel.desk.blend_jobs import tried_here

        self.hand_over(self.Tried(*tried_here(house, litres, aim, self.limits)))

    def on_blend_page_tried(self, message: Tried) -> None:
        """Show strength, water, bottles, age, broken limits and the profile."""
        self.tried = message.tried
        sums, profile = self.query_one("#sums", Static), self.query_one("#profile", Static)
        if message.tried is None or self.house is None:
            sums.update(Content(message.why))
            profile.update(Content(""))
            self.head(fact="")
            return
        found = message.tried
        self.refresh_bindings()
        self.head(fact=f"chance {chance(found.mixture.probability)}")
        sums.update(Content("\n".join(sum_lines(found, self.house.stock))))
        lines = found.mixture.expectation.lines
        profile.update(Content("\n".join(profile_lines(lines, self.size.width - 2))))

    def drawn_as(self) -> Drawn | None:
        """What stands here against the target, and the litres of each cask."""
        tried, house = self.tried, self.house
        if tried is None or house is None:
            return None

        def draw(_db: Session) -> Sequence[Picture]:
            from panel.pictures.vatting import put_together

            return put_together(tried, house.stock, target=self.target)

        return f"Blend for {self.target}", draw

    def handed_on(self, reader: str) -> Handed | None:
        """The page of what stands here."""
        from panel.desk.handing import blend_page

        if self.tried is None:
            return None
        return blend_page(
            *(self.desk, self.target, self.bounds, self.litres),
            like=self.like,
            with_foretold=self.with_foretold,
        )

    @property
    def row(self) -> BlendRow | None:
        """The cask under the cursor."""
        return self.query_one(BlendTable).current

    def action_step(self, direction: int) -> None:
        """Move five litres in or out of the blend."""
        if self.row is not None:
            self.set_litres(self.row, self.row.litres + direction * STEP_L)

    def action_whole(self) -> None:
        """All of the cask, or nothing."""
        if self.row is not None:
            self.set_litres(self.row, 0.0 if self.row.litres > 0.0 else self.row.holds)

    def minded(self, db: Session) -> VatMind | None:
        """About what stands here."""
        from panel.desk.blend_jobs import mind_of

        if self.house is None or self.aim is None:
            return None
        return mind_of(self.desk, db, self.house, self.aim, self.litres)

    def set_litres(self, row: BlendRow, litres: float) -> None:
        """Take so much of a cask, no less than nothing and no more than it holds."""
        self.litres[row.cask] = min(max(litres, 0.0), row.holds)
        self.reckon()

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show the cask's life."""
        self.app.push_screen(page_of("cask", event.row.cask))

    def action_add(self) -> None:
        """Choose a cask to take in."""
        from panel.desk.pick import PickPage

        if self.house is None:
            self.say("One moment: the stock is still being read.")
            return
        stock = self.house.stock
        others = {str(name): 0.0 for name in stock.names if str(name) not in self.litres}
        page = PickPage(
            "Which cask goes in too?",
            blend_rows(stock, others),
            COLUMNS,
            name_of=lambda r: r.cask,
            place="releases",
            many=True,
        )
        self.app.push_screen(page, self.take_in)

    def take_in(self, names: tuple[str, ...] | None) -> None:
        """Take whole casks in, where no part is drawn; else five litres to begin with."""
        if names is None or self.house is None:
            return
        stock = self.house.stock
        for name in names:
            holds = float(stock.bulk_litres[stock.position[name]])
            self.litres[name] = holds if self.limits.whole else min(STEP_L, holds)
        self.reckon()

    def action_ask(self) -> None:
        """Ask for the best choice again."""
        self.say("Choosing ...")
        self.read()

    def action_unnosed(self) -> None:
        """Let casks in that nobody nosed, or leave them out again, and choose anew."""
        self.with_foretold = not self.with_foretold
        self.litres = {}
        self.say("Choosing, casks never nosed " + ("too ..." if self.with_foretold else "out ..."))
        self.read()

    def action_trial(self) -> None:
        """Open the form for a trial of what stands here."""
        taken = {cask: litres for cask, litres in self.litres.items() if litres > 0.0}
        if taken:
            self.app.push_screen(page_of("draw blend", taken, self.target))
        else:
            self.say("There is nothing in it to make a trial of.")

    def action_stock(self) -> None:
        """Show what stays in stock."""
        if self.house is not None:
            lines = stock_lines(self.house.stock, self.litres)
            self.app.push_screen(ReadSlip("Stock by wood, litres", lines))

    def action_keep(self) -> None:
        """Ask for a name, then reserve."""
        from panel.release.propose import from_tried

        if self.tried is None or self.house is None:
            self.say("There is nothing to keep yet.", trouble=True)
            return
        if unnosed := self.tried.mixture.foretold:
            self.say(f"Nobody has nosed {', '.join(unnosed[:3])}: do so first.", trouble=True)
            return
        self.app.push_screen(
            page_of(
                "keep blend",
                from_tried(self.house, self.target, self.limits, self.tried),
                self.like,
            )
        )
