"""Why samples were drawn and what became of them: of those ticked, or of a whole session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.errors import EntriesAtFault

if TYPE_CHECKING:
    from panel.questions.register import Untold


class TellForm(DeedForm):
    """Why samples were drawn and what became of them; what is left empty stays as it is."""

    PLACE = "house"
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


class FatesForm(DeedForm):
    """What became of all that a session left, in one line; what is told already stays.

    Only their number is shown: which samples a session poured is for whoever planned it until the
    key is open.
    """

    PLACE = "house"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("fate", "Leftovers", "poured away, kept sealed, posted to ..., destroyed", wide=True),
        Field("reason", "Why drawn", "where nothing is on record", wide=True),
    )

    @dataclass
    class Read(Message):
        """What says too little has been read."""

        untold: tuple[Untold, ...]

    def __init__(self, session: str) -> None:
        super().__init__({"reason": f"blind session {session}"})
        self.session_name = session
        self.untold: tuple[Untold, ...] = ()

    def set_up(self) -> None:
        """Say of which session."""
        super().set_up()
        self.head(f"What became of the samples of {self.session_name}")

    @work(thread=True, exclusive=True, group="untold", exit_on_error=False)
    def read(self) -> None:
        """Read what says too little."""
        from panel.questions.register import untold_samples

        with self.desk.store.read() as db:
            untold = untold_samples(db, self.session_name)
        self.hand_over(self.Read(untold))

    def on_fates_form_read(self, message: Read) -> None:
        """Say how many."""
        self.untold = message.untold
        count = len(message.untold)
        self.head(fact="1 says too little" if count == 1 else f"{count} say too little")

    def look(self, values: dict[str, str]) -> None:
        """See that something is said."""
        if "fate" not in values:
            raise EntriesAtFault({"fate": "say what became of them"})

    def do(self, values: dict[str, str]) -> str:
        """Keep it of each that lacks it, or of none."""
        from panel.records.register import account_for

        desk, fate, reason = self.desk, values["fate"], values.get("reason")
        with writing(desk.store) as db:
            for each in self.untold:
                account_for(
                    db,
                    each.sample,
                    reason=None if each.reason else reason,
                    fate=None if each.fate else fate,
                    now=desk.now(),
                    by=desk.by,
                )
        return f"{len(self.untold)} samples of {self.session_name}: {fate}."
