"""Draws written down at the desk: one of each cask ticked, or a trial vatting of several."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.message import Message

from panel.desk.entries import Field
from panel.desk.record_form import RecordForm
from panel.desk.typed import DAY_HINT
from panel.figures import in_digits
from panel.kinds import Clarity, DrawKind

if TYPE_CHECKING:
    from panel.problems import Problem
    from panel.store.draw_labels import ProposedDraw

DRAWN_ON = Field("drawn_on", "Drawn on", DAY_HINT)
REDUCED = Field("reduced_to", "Poured at", "% vol; empty: as it was drawn")
REASON = Field("reason", "Reason", "what for, as the register tells it", wide=True)
NOTE = Field("note", "Note", wide=True)
LOOKS = (
    Field("colour", "Colour", "in the glass; kept from whoever scores until the reveal"),
    Field("clarity", "Clarity", "how clear", choices=("", *(each.value for each in Clarity))),
)
OF_ONE = ("sample", "abv")
TRIAL_ML = 100.0


class ProposingForm(RecordForm):
    """A form that asks the records what its samples would be called."""

    KIND = "draws"
    ONLY_NEW = True
    NEEDED = ("sample", "kind")

    @dataclass
    class Read(Message):
        """What lies in the casks was looked up."""

        draws: list[ProposedDraw]

    def __init__(self, casks: Sequence[str]) -> None:
        super().__init__()
        self.casks = tuple(casks)
        self.draws: list[ProposedDraw] = []

    def propose(self, name: str, value: str) -> None:
        """Put what is proposed into a field where nothing stands."""
        line = self.line_of(name)
        if line is not None and not line.entry.value:
            line.entry.value = value

    @work(thread=True, exclusive=True, group="proposed", exit_on_error=False)
    def read(self) -> None:
        """Look up what lies in the casks, and what samples are called here."""
        from panel.store.draw_labels import proposed_draws

        desk = self.desk
        with desk.store.read() as db:
            draws = proposed_draws(db, self.casks, desk.today())
        self.hand_over(self.Read(draws))

    def on_proposing_form_read(self, message: Read) -> None:
        """Fill in what is proposed."""
        self.draws = message.draws
        self.fill_in(message.draws)
        self.first = self.values()

    def fill_in(self, draws: Sequence[ProposedDraw]) -> None:
        """Put the proposals into the fields."""
        self.propose("drawn_on", self.desk.today().isoformat())

    def action_keep(self) -> None:
        """Check and write, once the records are read."""
        if self.draws:
            super().action_keep()
        else:
            self.say("One moment: the records are still being read.")


class DrawForm(ProposingForm):
    """One draw of each cask; what is the same for all of them is asked once."""

    PLACE = "casks"
    COMMON: ClassVar[tuple[Field, ...]] = (
        DRAWN_ON,
        Field("volume_ml", "Volume", "mL, of each"),
        REDUCED,
        REASON,
        NOTE,
    )

    def __init__(self, casks: Sequence[str], kept: Callable[[], object] | None = None) -> None:
        super().__init__(casks)
        self.kept = kept

    def fields(self) -> Sequence[Field]:
        """Return the common fields, then label and strength of each draw."""
        own = [field for i, cask in enumerate(self.casks) for field in _own(i, cask)]
        looks = LOOKS if len(self.casks) == 1 else ()  # of several each is told in the register
        return (*self.COMMON[:-2], *own, *looks, *self.COMMON[-2:])

    def set_up(self) -> None:
        """Say of what, and stand on the first field: a day that is not today is seen first."""
        super().set_up()
        count = len(self.casks)
        self.head("A draw" if count == 1 else f"{count} draws", ", ".join(self.casks))

    def fill_in(self, draws: Sequence[ProposedDraw]) -> None:
        """Put today and the labels in."""
        super().fill_in(draws)
        for place, draw in enumerate(draws):
            self.propose(f"sample.{place}", draw.label)

    def rows(self, values: dict[str, str]) -> list[dict[str, str]]:
        """Return a row a cask, of the same headings all."""
        common = (*self.COMMON, *LOOKS)
        asked = dict.fromkeys((field.name for field in common), "")
        return [
            {
                **{name: values.get(name, "") for name in asked},
                **{name: values.get(f"{name}.{place}", "") for name in OF_ONE},
                "kind": DrawKind.CASK.value,
                "cask": draw.cask,
                "filling": draw.filling,
            }
            for place, draw in enumerate(self.draws)
        ]

    def field_of(self, problem: Problem) -> str:
        """Return the common field, or that of the cask the row is of."""
        if problem.column in OF_ONE:
            return f"{problem.column}.{problem.row}"
        if problem.column in ("cask", "filling"):
            return f"sample.{problem.row}"
        return problem.column

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        labels = [values[f"sample.{place}"] for place in range(len(self.draws))]
        return f"Kept: drawn on {values.get('drawn_on', 'a day not told')}: {', '.join(labels)}."

    def leave(self) -> None:
        """Let go of the ticks below."""
        super().leave()
        if self.kept is not None:
            self.kept()


def _own(place: int, cask: str) -> tuple[Field, Field]:
    return (
        Field(f"sample.{place}", f"{cask} as", "the sample's label"),
        Field(f"abv.{place}", "  strength", "% vol, where it was measured"),
    )


class TrialForm(ProposingForm):
    """A trial of a blend: its casks by their shares, in steps that can be poured."""

    PLACE = "releases"
    TITLE_WORDS = "A trial of this blend"

    def __init__(self, litres: Mapping[str, float], target: str) -> None:
        super().__init__(tuple(litres))
        self.shares = poured(litres)
        self.target = target

    def fields(self) -> Sequence[Field]:
        """Return label and day, then what is poured of each cask."""
        parts = [
            Field(f"parts.{place}", cask, "mL, at cask strength")
            for place, cask in enumerate(self.casks)
        ]
        return (Field("sample", "Sample", "its label"), DRAWN_ON, *parts, REDUCED, REASON, NOTE)

    def fill_in(self, draws: Sequence[ProposedDraw]) -> None:
        """Put today, the parts and what it is for in."""
        super().fill_in(draws)
        for place, cask in enumerate(self.casks):
            self.propose(f"parts.{place}", in_digits(self.shares[cask], "g"))
        self.propose("reason", f"trial for {self.target}")

    def record(self, values: dict[str, str]) -> dict[str, str]:
        """Return the row, its parts as a file has them."""
        from panel.intake.parts import quoted
        from panel.intake.typed_rows import meant_number

        named = {name: value for name, value in values.items() if not name.startswith("parts.")}
        given = {
            draw.filling or draw.cask: meant_number(amount)
            for place, draw in enumerate(self.draws)
            if (amount := values.get(f"parts.{place}", "0")).strip("0.,")
        }
        parts = "; ".join(f"{quoted(label)}={amount}" for label, amount in given.items())
        row = {**super().record(named), "kind": DrawKind.TRIAL.value, "parts": parts}
        return {**row, "volume_ml": _whole(given.values())}

    def field_of(self, problem: Problem) -> str:
        """Return the field; a fault in the parts stands beside the first of them."""
        return "parts.0" if problem.column == "parts" else problem.column

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return f"Kept: trial {values['sample']}. Put it into a session beside what it should be."


def _whole(amounts: Iterable[str]) -> str:
    """Return what the parts come to; nothing where one is no number, which is told of it."""
    try:
        return in_digits(sum(float(amount) for amount in amounts), "g")
    except ValueError:
        return ""


def poured(litres: Mapping[str, float]) -> dict[str, float]:
    """Return the millilitres of each cask in a trial, in steps that can be poured."""
    from panel.release.recipe import poured_ml

    whole = sum(litres.values()) or 1.0
    return {cask: poured_ml(part, whole, TRIAL_ML) for cask, part in litres.items()}
