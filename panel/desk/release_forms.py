"""The steps of a release as forms: its bench blend, the second signature, bottled, given up."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from textual import work
from textual.content import Content
from textual.widgets import Static

from panel.desk import release_jobs
from panel.desk.columns import Column
from panel.desk.entries import Field
from panel.desk.form import FormPage
from panel.desk.pick import PickPage
from panel.desk.slip import ReadSlip
from panel.errors import BoothError, NotAllowed, OakpanelError, UnknownRecord
from panel.records.acts import Act

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from panel.release.signing import BeforeSigning

SIGNER_COLUMNS: tuple[Column[str], ...] = (Column("Code", 20, lambda code: code),)
DUTY = "Duty and label: check with your excise officer and your label adviser."


class ReleaseForm(FormPage):
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
        return Field("on", "Day", "such as 2026-11-25", value=str(self.desk.today()))


class BenchForm(ReleaseForm):
    """How much of a bench blend; what to pour is laid over the release."""

    TITLE_WORDS = "A bench blend, to be nosed blind"

    def __init__(self, release: str) -> None:
        super().__init__(release)
        self.lines_after: list[str] = []

    def fields(self) -> Sequence[Field]:
        """Return volume, label and day."""
        return (
            Field("ml", "How much", "mL in all; each cask in steps of 0.5 mL", value="100"),
            Field("sample", "Its label", "empty: the release's name with a number"),
            self.day_field(),
        )

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Reckon what to pour and keep it as a draw."""
        faults: dict[str, str] = {}
        volume_ml, on = read_number(values, "ml", "mL", faults), read_day(values, faults)
        if volume_ml is None or on is None:
            self.hand_over(self.Refused(faults))
            return
        try:
            self.lines_after = release_jobs.mix(
                self.desk, self.release, volume_ml, values.get("sample"), on
            )
        except OakpanelError as error:
            self.hand_over(self.Refused({"": str(error)}))
            return
        self.post_message(self.Kept("The bench blend is a draw now: pour what stands here."))

    def leave(self) -> None:
        """Go back to the release, and lay over it what to pour."""
        app, slip = self.app, ReadSlip(f"Bench blend of {self.release}", self.lines_after)
        super().leave()
        app.push_screen(slip)


class SignForm(ReleaseForm):
    """A second person: their code, their PIN, and a reason where something stands against it."""

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

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Let them prove who they are, and sign."""
        wanted = {"code": "choose who signs", "pin": "they type their own PIN"}
        if self.before.against:
            wanted["despite"] = "say why, or leave it unsigned"
        faults = {name: words for name, words in wanted.items() if name not in values}
        if not faults:
            faults = self._signed(values)
        if faults:
            self.hand_over(self.Refused(faults))

    def _signed(self, values: dict[str, str]) -> dict[str, str]:
        """Sign it; return what is against it by field."""
        try:
            code = self._proved(values["code"], values["pin"])
            news = release_jobs.sign(
                self.desk, self.release, code, values.get("despite"), self.before
            )
        except BoothError as error:
            return {"pin": str(error)}
        except (NotAllowed, UnknownRecord) as error:
            return {"code": str(error)}
        except OakpanelError as error:
            return {"": str(error)}
        self.post_message(self.Kept(news))
        return {}

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

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Freeze it."""
        faults: dict[str, str] = {}
        bottles = _whole(values, "bottles", faults)
        on = read_day(values, faults)
        if faults or on is None:
            self.hand_over(self.Refused(faults))
            return
        try:
            news = release_jobs.bottle(self.desk, self.release, bottles, on)
        except OakpanelError as error:
            self.hand_over(self.Refused({"": str(error)}))
            return
        self.post_message(self.Kept(f"{news} {DUTY}"))


class CancelForm(ReleaseForm):
    """Why it is given up."""

    TITLE_WORDS = "Give it up: its casks are free again"

    def fields(self) -> Sequence[Field]:
        """Return reason and day."""
        return (Field("reason", "Reason", "for the record", wide=True), self.day_field())

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Free its casks."""
        faults: dict[str, str] = {} if "reason" in values else {"reason": "say why"}
        on = read_day(values, faults)
        if faults or on is None:
            self.hand_over(self.Refused(faults))
            return
        try:
            news = release_jobs.cancel(self.desk, self.release, values["reason"], on)
        except OakpanelError as error:
            self.hand_over(self.Refused({"": str(error)}))
            return
        self.post_message(self.Kept(news))


def read_day(values: dict[str, str], faults: dict[str, str]) -> date | None:
    """Return the day; what is not right goes into *faults*."""
    try:
        return date.fromisoformat(values.get("on", ""))
    except ValueError:
        faults["on"] = "give the day, such as 2026-11-25"
        return None


def read_number(
    values: dict[str, str], name: str, unit: str, faults: dict[str, str]
) -> float | None:
    """Return a number above zero; what is not right goes into *faults*."""
    try:
        number = float(values.get(name, ""))
    except ValueError:
        number = -1.0
    if 0.0 < number < 1e7:
        return number
    faults[name] = f"give {unit}, a number above zero"
    return None


def _whole(values: dict[str, str], name: str, faults: dict[str, str]) -> int | None:
    text = values.get(name)
    if text is not None and not text.isdecimal():
        faults[name] = f"{text!r} is not a whole number"
        return None
    return None if text is None else int(text)
