"""The steps of a release as forms: its bench blend, the second signature, bottled, given up."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from panel.desk import release_jobs
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.pick import PickPage
from panel.desk.slip import ReadSlip
from panel.desk.typed import DAY_HINT, Entries, from_zero
from panel.errors import BoothError, EntriesAtFault, NotAllowed, UnknownRecord
from panel.figures import sentence_here
from panel.records.acts import Act

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from panel.release.signing import BeforeSigning

SIGNER_COLUMNS: tuple[Column[str], ...] = (Column("Code", 20, lambda code: code),)
DUTY = "Duty and label: check with your excise officer and your label adviser."


class ReleaseForm(DeedForm):
    """A step of one release."""

    PLACE = "releases"

    def __init__(self, release: str) -> None:
        super().__init__()
        self.release = release

    def set_up(self) -> None:
        """Say which release."""
        super().set_up()
        self.head(fact=self.release)

    def day_field(self) -> Field:
        """Return the field of the day."""
        return Field("on", "Day", DAY_HINT, value=str(self.desk.today()))


class BenchForm(ReleaseForm):
    """How much of a bench blend; what to pour is laid over the release."""

    TITLE_WORDS = "A bench blend, to be nosed blind"

    def __init__(self, release: str) -> None:
        super().__init__(release)
        self.lines_after: list[str] = []

    def fields(self) -> Sequence[Field]:
        """Return volume, label and day."""
        return (
            Field(
                "ml",
                "How much",
                sentence_here("mL in all; each cask in steps of 0.5 mL"),
                value="100",
            ),
            Field("sample", "Its label", "empty: the release's name with a number"),
            self.day_field(),
        )

    def look(self, values: dict[str, str]) -> tuple[float, date]:
        """Return how much, and the day."""
        typed = Entries(values)
        read = typed.needed_number("ml", "mL"), typed.needed_day("on")
        typed.settle()
        return read

    def do(self, values: dict[str, str]) -> str:
        """Reckon what to pour and keep it as a draw."""
        volume_ml, on = self.look(values)
        with self.reckoning():
            self.lines_after = release_jobs.mix(
                self.desk, self.release, volume_ml, values.get("sample"), on
            )
        return "The bench blend is a draw now: pour what stands here."

    def leave(self) -> None:
        """Go back to the release, and lay over it what to pour."""
        app, slip = self.app, ReadSlip(f"Bench blend of {self.release}", self.lines_after)
        super().leave()
        app.push_screen(slip)


class SignForm(ReleaseForm):
    """A second person: their code, their PIN, and a reason where something stands against it."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Sign", "Prove who you are, and sign")]
    TITLE_WORDS = "Sign as a second person"
    DEFAULT_CSS = """
    SignForm #against { height: auto; max-height: 12; padding: 0 1 1 1; color: $warning; }
    """

    def __init__(self, release: str, before: BeforeSigning) -> None:
        super().__init__(release)
        self.before = before

    def fields(self) -> Sequence[Field]:
        """Return who, PIN, and what asks for a reason."""
        return (
            Field("code", "Who signs", "neither proposed it nor gave its litres", picks=True),
            Field("pin", "Their PIN", "it does not show", secret=True),
            *(
                [Field("despite", "Despite it", "the reason, for the record", wide=True)]
                if self.before.against
                else []
            ),
        )

    def body(self) -> ComposeResult:
        """Put all that stands against it above the fields, where it stays."""
        against = "\n".join(f"! Against it: {each}" for each in self.before.against)
        if against:
            yield Static(Content(against), id="against")
        yield from super().body()

    def set_up(self) -> None:
        """Stand on who signs."""
        super().set_up()
        self.lines[0].entry.focus()

    def choices_for(self, name: str) -> PickPage | None:
        """Return those who may sign."""
        return PickPage(
            "Who signs?",
            self.before.may_sign,
            SIGNER_COLUMNS,
            name_of=str,
            place=self.PLACE,
            many=False,
        )

    def look(self, values: dict[str, str]) -> None:
        """See that all is there."""
        typed = Entries(values)
        typed.needed("code", "choose who signs")
        typed.needed("pin", "they type their own PIN")
        if self.before.against:
            typed.needed("despite", "say why, or leave it unsigned")
        typed.settle()

    def do(self, values: dict[str, str]) -> str:
        """Let them prove who they are, and sign."""
        try:
            code = self._proved(values["code"], values["pin"])
            return release_jobs.sign(
                self.desk, self.release, code, values.get("despite"), self.before
            )
        except BoothError as error:
            raise EntriesAtFault({"pin": str(error)}) from error
        except (NotAllowed, UnknownRecord) as error:
            raise EntriesAtFault({"code": str(error)}) from error

    def _proved(self, code: str, pin: str) -> str:
        from panel.records.proving import Wants, asked_of, prove

        desk = self.desk
        asked = asked_of(desk.store, Act.SIGN, code, now=desk.now())
        if asked.wants is Wants.NEW_PIN:
            raise NotAllowed(f"{code} has no PIN yet: they get one first, in 5 People.")
        prove(desk.store, asked, pin, now=desk.now())
        return code


class BottleForm(ReleaseForm):
    """Bottles and day: nothing changes any more."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Bottle", "From then on nothing changes")]
    ACT = Act.BOTTLE
    TITLE_WORDS = "Bottled: from then on nothing changes"

    def __init__(self, release: str, reckoned: int) -> None:
        super().__init__(release)
        self.reckoned = reckoned

    def fields(self) -> Sequence[Field]:
        """Return bottles and day."""
        return (
            Field("bottles", "Bottles filled", f"empty: {self.reckoned:,}, as reckoned"),
            self.day_field(),
        )

    def look(self, values: dict[str, str]) -> tuple[int | None, date]:
        """Return how many, and the day."""
        typed = Entries(values)
        read = typed.read("bottles", from_zero, "a whole number"), typed.needed_day("on")
        typed.settle()
        return read

    def do(self, values: dict[str, str]) -> str:
        """Freeze it."""
        bottles, on = self.look(values)
        return f"{release_jobs.bottle(self.desk, self.release, bottles, on)} {DUTY}"


class CancelForm(ReleaseForm):
    """Why it is given up."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Give up", "Its casks are free again")]
    TITLE_WORDS = "Give it up: its casks are free again"

    def fields(self) -> Sequence[Field]:
        """Return reason and day."""
        return (Field("reason", "Reason", "for the record", wide=True), self.day_field())

    def look(self, values: dict[str, str]) -> tuple[str, date]:
        """Return why, and the day."""
        typed = Entries(values)
        read = typed.needed("reason", "say why"), typed.needed_day("on")
        typed.settle()
        return read

    def do(self, values: dict[str, str]) -> str:
        """Free its casks."""
        reason, on = self.look(values)
        return release_jobs.cancel(self.desk, self.release, reason, on)
