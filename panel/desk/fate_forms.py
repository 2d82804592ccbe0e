"""Why samples were drawn and what became of them: of those ticked, or of a whole session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.typed import Entries, above_zero
from panel.errors import EntriesAtFault
from panel.kinds import Clarity
from panel.records.acts import Act

CLARITIES = tuple(each.value for each in Clarity)


class TellForm(DeedForm):
    """Why samples were drawn and what became of them; what is left empty stays as it is."""

    PLACE = "house"
    ACT = Act.REGISTER
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("reason", "Why", "such as: blind session, ageing check; empty leaves it", wide=True),
        Field("fate", "Became", "nosed and poured away, kept, destroyed ...", wide=True),
    )

    def __init__(self, samples: Sequence[str]) -> None:
        super().__init__()
        self.samples = samples

    def set_up(self) -> None:
        """Say which samples."""
        super().set_up()
        several = f"{len(self.samples)} samples: " if len(self.samples) > 1 else ""
        self.head(f"{several}{', '.join(self.samples)}")

    def look(self, values: dict[str, str]) -> None:
        """See that something is said."""
        if not values:
            raise EntriesAtFault({"reason": "say why, or what became of it"})

    def do(self, values: dict[str, str]) -> str:
        """Keep it of each, or of none."""
        from panel.records.register import account_for

        desk, reason, fate = self.desk, values.get("reason"), values.get("fate")
        with writing(desk.store) as db:
            for sample in self.samples:
                account_for(db, sample, reason=reason, fate=fate, now=desk.now(), by=desk.by)
        told = "1 sample" if len(self.samples) == 1 else f"{len(self.samples)} samples"
        return f"{told}: {reason or 'reason as it was'}; {fate or 'fate as it was'}."


class LookForm(DeedForm):
    """Colour and clarity of one sample, as the pourer sees it; empty leaves what stands."""

    PLACE = "house"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("colour", "Colour", "in the glass: pale straw, amber ..."),
        Field("clarity", "Clarity", "how clear it is", choices=("", *CLARITIES)),
    )

    def __init__(self, sample: str) -> None:
        super().__init__()
        self.sample = sample

    def set_up(self) -> None:
        """Say which sample, and who never sees it."""
        super().set_up()
        self.head(f"How {self.sample} looks", "kept from whoever scores until the reveal")

    def look(self, values: dict[str, str]) -> None:
        """See that something is said."""
        if not values.get("colour") and not values.get("clarity"):
            raise EntriesAtFault({"colour": "say its colour, or how clear it is"})

    def do(self, values: dict[str, str]) -> str:
        """Keep it."""
        from panel.records.looks import note_look

        desk, clarity = self.desk, values.get("clarity")
        seen = Clarity(clarity) if clarity else None
        with writing(desk.store) as db:
            note_look(
                *(db, self.sample),
                colour=values.get("colour"),
                clarity=seen,
                now=desk.now(),
                by=desk.by,
            )
        return f"{self.sample}: how it looks is kept. Nobody who scores is shown it."


class FatesForm(DeedForm):
    """What became of all that a session left, in one go; what is told already stays.

    Only their number is shown: which samples a session poured is for whoever planned it until the
    key is open. It comes up once, at the close, and can be left.
    """

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Keep", "Keep it of all of them")]
    PLACE = "house"
    ACT = Act.REGISTER
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("fate", "Leftovers", "poured away, kept sealed, destroyed ...", wide=True),
        Field("spikes", "Spikes", "references made up for it: poured away ...", wide=True),
        Field("posted", "Posted", "samples that were posted, such as D4, D7", wide=True),
        Field("posted_to", "Posted to", "whom, and until when they come back", wide=True),
        Field("reason", "Why drawn", "where nothing is on record", wide=True),
    )

    @dataclass
    class Read(Message):
        """What says too little has been counted."""

        count: int

    def __init__(self, session: str) -> None:
        super().__init__({"reason": f"blind session {session}"})
        self.session_name = session

    def set_up(self) -> None:
        """Say of which session."""
        super().set_up()
        self.head(f"What became of the samples of {self.session_name}")

    @work(thread=True, exclusive=True, group="untold", exit_on_error=False)
    def read(self) -> None:
        """Count what says too little."""
        from panel.questions.register import untold_samples

        with self.desk.store.read() as db:
            count = len(untold_samples(db, self.session_name))
        self.hand_over(self.Read(count))

    def on_fates_form_read(self, message: Read) -> None:
        """Say how many."""
        one = message.count == 1
        self.head(fact="1 says too little" if one else f"{message.count} say too little")

    def look(self, values: dict[str, str]) -> None:
        """See that something is said."""
        if not values.keys() & {"fate", "spikes", "posted"}:
            raise EntriesAtFault({"fate": "say what became of them"})

    def do(self, values: dict[str, str]) -> str:
        """Keep it of each that lacks it, or of none."""
        from panel.records.register import account_for_session
        from panel.words.register_words import fates_words

        desk = self.desk
        posted = [each.strip() for each in values.get("posted", "").split(",") if each.strip()]
        with writing(desk.store) as db:
            told = account_for_session(
                *(db, self.session_name),
                leftovers=values.get("fate"),
                spikes=values.get("spikes"),
                posted=posted,
                posted_to=values.get("posted_to"),
                reason=values.get("reason"),
                now=desk.now(),
                by=desk.by,
            )
        return fates_words(told)


class ReverseForm(DeedForm):
    """A line of the register reversed, and what is right instead; both lines stay."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Reverse", "Reverse the line")]
    PLACE = "house"
    ACT = Act.REGISTER
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field(
            "because", "Because", "why the line is reversed; it stays in the register", wide=True
        ),
        Field("millilitres", "Took", "mL as it was; empty leaves it"),
        Field("reason", "Why drawn", "as it was; empty leaves it", wide=True),
        Field("fate", "Became", "as it was; empty leaves it", wide=True),
    )

    def __init__(self, sample: str) -> None:
        super().__init__()
        self.sample = sample

    def set_up(self) -> None:
        """Say which line."""
        super().set_up()
        self.head(f"Reverse the line of {self.sample}")

    def do(self, values: dict[str, str]) -> str:
        """Reverse it."""
        from panel.records.register import reverse_line

        desk, typed = self.desk, Entries(values)
        millilitres = typed.read("millilitres", above_zero, "mL above zero, such as 50")
        typed.settle()
        with writing(desk.store) as db:
            reverse_line(
                *(db, self.sample),
                because=values.get("because", ""),
                millilitres=millilitres,
                reason=values.get("reason"),
                fate=values.get("fate"),
                now=desk.now(),
                by=desk.by,
            )
        return f"The line of {self.sample} is reversed; what is right stands beside it."
