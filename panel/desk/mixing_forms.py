"""How notes mix: what nosed bench blends teach, kept; an exponent set by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.pick import PickPage
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault, OakpanelError
from panel.figures import in_digits

if TYPE_CHECKING:
    from analysis.vatting import MixingLearned
    from panel.desk.app import DeskApp
    from panel.questions.lexicon import DescriptorLine

NOTE_COLUMNS: tuple[Column[DescriptorLine], ...] = (
    Column("Descriptor", 20, lambda d: d.name),
    Column("Meaning", 30, lambda d: d.newest.meaning, stretch=True),
)


def learnt(desk: DeskApp) -> MixingLearned:
    """Return what the bench blends nosed so far say of how notes mix."""
    from panel.release.mixing import learn_from_benches

    with desk.store.read() as db:
        known = desk.known.of(db, as_of=desk.today())
        return learn_from_benches(db, as_of=desk.today(), profile=known)


def keep_learnt(desk: DeskApp, found: MixingLearned) -> list[str]:
    """Keep it for blending; return the notes that it is kept for."""
    from panel.release.mixing import keep_mixing

    with writing(desk.store) as db:
        return keep_mixing(db, found, on=desk.today(), now=desk.now(), by=desk.by)


class ExponentForm(DeedForm):
    """A note, and the exponent it mixes with."""

    PLACE = "releases"
    TITLE_WORDS = "How a note mixes, by hand"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("note", "Note", picks=True),
        Field("exponent", "Exponent", "above 0, up to 5; 1 adds up as it is poured"),
    )

    @dataclass
    class Read(Message):
        """The lexicon has been read."""

        notes: list[DescriptorLine]

    notes: list[DescriptorLine] | None = None

    @work(thread=True, exclusive=True, group="notes", exit_on_error=False)
    def read(self) -> None:
        """Read the notes to choose from."""
        from panel.questions.lexicon import descriptor_lines

        with self.desk.store.read() as db:
            notes = [d for d in descriptor_lines(db) if not d.is_retired(self.desk.today())]
        self.hand_over(self.Read(notes))

    def on_exponent_form_read(self, message: Read) -> None:
        """Keep them for the list."""
        self.notes = message.notes

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list of notes."""
        if self.notes is None:
            return None
        return PickPage(
            "Which note?",
            self.notes,
            NOTE_COLUMNS,
            name_of=lambda d: d.name,
            place=self.PLACE,
            many=False,
        )

    def look(self, values: dict[str, str]) -> float:
        """Return the exponent."""
        typed = Entries(values)
        typed.needed("note", "choose one")
        exponent = typed.needed_number("exponent", "an exponent")
        typed.settle()
        return exponent

    def do(self, values: dict[str, str]) -> str:
        """Set it."""
        from panel.release.mixing import set_exponents

        desk, note, exponent = self.desk, values["note"], self.look(values)
        try:
            with writing(desk.store) as db:
                set_exponents(db, {note: exponent}, on=desk.today(), now=desk.now(), by=desk.by)
        except OakpanelError as error:
            raise EntriesAtFault({"exponent": str(error)}) from error
        return f"{note} mixes with exponent {in_digits(exponent, 'g')} from now on."
