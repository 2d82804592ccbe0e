"""Who made a remark, forgotten at the desk: at once, or as the remark is closed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.message import Message

from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.pick import PickPage
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault

if TYPE_CHECKING:
    from panel.release.name_places import NamePlace

Row = tuple[str, str, str]
WAITS = "The old text waits to be overwritten: 7 House, forget."
LEAVE_ALL: Row = ("0", "none of these", "leave them all as they stand")
PLACES: tuple[Column[Row], ...] = (
    Column("Where", 30, lambda row: row[1]),
    Column("What stands there", 40, lambda row: row[2], stretch=True),
)


def _row(place: NamePlace) -> Row:
    return str(place.place), f"{place.record}, {place.what}", place.around


class OneRemarkForm(DeedForm):
    """A deed about one remark."""

    PLACE = "releases"

    def __init__(self, remark: int) -> None:
        super().__init__()
        self.remark = remark

    def set_up(self) -> None:
        """Say which."""
        super().set_up()
        self.head(fact=f"remark {self.remark}")


class ForgettingForm(OneRemarkForm):
    """A deed that deletes a name; where parts of it stand elsewhere, each place is shown first."""

    @dataclass
    class Open(Message):
        """Nobody has said yet what is to become of these places."""

        places: tuple[NamePlace, ...]
        values: dict[str, str]

    def __init__(self, remark: int) -> None:
        super().__init__(remark)
        self.also: Collection[int] | None = None
        self.shown: tuple[NamePlace, ...] | None = None

    def do(self, values: dict[str, str]) -> str:
        """Do it, once it is said which places lose the part of a name too."""
        from panel.release.name_places import PlacesOpen

        also, self.also = self.also, None
        shown, self.shown = self.shown, None
        try:
            return self.forget(values, also, shown)
        except PlacesOpen as error:
            self.hand_over(self.Open(error.places, values))
            raise EntriesAtFault(
                {"": "Parts of the name stand elsewhere: say which go."}
            ) from error

    def forget(
        self,
        values: dict[str, str],
        also: Collection[int] | None,
        shown: tuple[NamePlace, ...] | None,
    ) -> str:
        """Delete the name, and its parts in *also* of the places *shown*; return the news."""
        raise NotImplementedError

    def on_forgetting_form_open(self, message: Open) -> None:
        """Show each place; all are ticked, and the last line, once ticked, leaves them all."""

        def take(names: tuple[str, ...] | None) -> None:
            if names is not None:
                self.shown = message.places
                self.also = set() if LEAVE_ALL[0] in names else {int(name) for name in names}
                self.keep(message.values)

        page = PickPage(
            "Which lose the part of the name? They may be somebody else's.",
            [*(_row(place) for place in message.places), LEAVE_ALL],
            PLACES,
            name_of=lambda each: each[0],
            place=self.PLACE,
            many=True,
            ticked=[str(each.place) for each in message.places],
        )
        self.app.push_screen(page, take)


class CloseRemarkForm(ForgettingForm):
    """How a remark ended; who made it is deleted then."""

    TITLE_WORDS = "Close a remark: who made it is deleted and overwritten"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Close", "Keep how it ended")]
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("outcome", "Ended", "answered, replaced, what the laboratory found", wide=True),
    )

    def forget(
        self,
        values: dict[str, str],
        also: Collection[int] | None,
        shown: tuple[NamePlace, ...] | None,
    ) -> str:
        """Close it."""
        from panel.release.lot_forgetting import close_and_overwrite
        from panel.words.lot_words import forgotten_words

        typed = Entries(values)
        outcome = typed.needed("outcome", "how it ended")
        typed.settle()
        desk = self.desk
        done, over = close_and_overwrite(
            *(desk.store, self.remark),
            outcome=outcome,
            also=also,
            shown=shown,
            now=desk.now(),
            by=desk.by,
            tell=_quiet,
        )
        said = forgotten_words(done, looked=over is not None)
        return f"{said} {WAITS}" if over is not None and not over.overwritten else said


class ForgetWhoForm(ForgettingForm):
    """Deletes who made a remark, and their name in its words."""

    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("name", "Name", "only where it is deleted already, and parts stayed", wide=True),
    )
    TITLE_WORDS = "Forget who made a remark, for good"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Forget", "Delete and overwrite it")]

    def forget(
        self,
        values: dict[str, str],
        also: Collection[int] | None,
        shown: tuple[NamePlace, ...] | None,
    ) -> str:
        """Delete it."""
        from panel.release.lot_forgetting import forget_and_overwrite
        from panel.words.lot_words import forgotten_words

        desk = self.desk
        done, over = forget_and_overwrite(
            *(desk.store, self.remark),
            name=values.get("name"),
            also=also,
            shown=shown,
            now=desk.now(),
            by=desk.by,
            tell=_quiet,
        )
        said = forgotten_words(done, looked=True)
        return said if over.overwritten else f"{said} {WAITS}"


def _quiet(_held_by: tuple[str, ...]) -> None:
    """Tell nobody: the form stands there until it is done."""
