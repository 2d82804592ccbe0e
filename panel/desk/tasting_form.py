"""A tasting of the releases ticked: how much of each is poured, then its page or its sheets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum, auto
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.entries import Field
from panel.desk.form import FormPage, finishing
from panel.desk.homes import page_of
from panel.desk.slip import ReadSlip
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault, OakpanelError, PourRefused

if TYPE_CHECKING:
    from panel.release.tasting import Tasting

USUAL_ML = "10"


class Wanted(Enum):
    """What of a tasting is wanted."""

    CARDS = auto()
    PAPER = auto()
    GUESTS = auto()


TITLES: Mapping[Wanted, str] = {
    Wanted.CARDS: "Cards for a tasting",
    Wanted.PAPER: "Guests' sheet for a tasting",
    Wanted.GUESTS: "Guests' scores of a tasting",
}


class TastingForm(FormPage):
    """How much of each is poured; the same bounds as by command."""

    PLACE = "releases"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Go on", "Lay it out")]
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("ml", "Each pour, mL", "10 unless the pours are other", value=USUAL_ML),
    )

    @dataclass
    class Made(Message):
        """The page is written; where it is."""

        said: str

    @dataclass
    class LaidOut(Message):
        """The tasting, for guests' scores to be held against."""

        tasting: Tasting

    def __init__(self, names: tuple[str, ...], wanted: Wanted) -> None:
        super().__init__()
        self.names, self.wanted = names, wanted

    def set_up(self) -> None:
        """Say what it is for, and of what."""
        super().set_up()
        self.head(TITLES[self.wanted], ", ".join(self.names))
        self.lines[0].entry.focus()

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Lay the tasting out; every fault at its field."""
        try:
            with self.reckoning():
                done = self._done(_poured(values))
        except EntriesAtFault as error:
            self.hand_over(self.Refused(error.faults))
        except PourRefused as error:
            self.hand_over(self.Refused({"ml": str(error)}))
        except OakpanelError as error:
            self.hand_over(self.Refused({"": str(error)}))
        else:
            self.hand_over(done)

    def _done(self, ml: float) -> Message:
        from panel.desk.handing import tasting_page, written
        from panel.release.tasting import check_scored, tasting_of

        desk = self.desk
        with desk.store.read() as db:
            tasting = tasting_of(db, self.names, as_of=desk.today(), ml=ml)
        if self.wanted is not Wanted.CARDS:
            check_scored(tasting)
        if self.wanted is Wanted.GUESTS:
            return self.LaidOut(tasting)
        paper = self.wanted is Wanted.PAPER
        said, trouble = written(desk, *tasting_page(desk, self.names, ml=ml, paper=paper))
        if trouble:
            raise OakpanelError(said)
        return self.Made(said)

    def on_tasting_form_made(self, message: Made) -> None:
        """Go back, and say in full where the page is."""
        app, slip = self.app, ReadSlip(TITLES[self.wanted], [message.said])
        app.pop_screen()
        app.push_screen(slip)

    def on_tasting_form_laid_out(self, message: LaidOut) -> None:
        """Go to the guests' sheets."""
        self.app.switch_screen(page_of("guests", message.tasting))


def _poured(values: dict[str, str]) -> float:
    typed = Entries(values)
    ml = typed.needed_number("ml", "mL")
    typed.settle()
    return ml
