"""Which kind each file of a folder is: a line a file, nothing is read in yet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from panel.desk.columns import Column
from panel.desk.entries import Field, PickLine
from panel.desk.form import FormPage, finishing
from panel.desk.load_form import HOLDS
from panel.desk.pick import PickPage
from panel.intake.kinds import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping

LEFT_OUT = "(left out)"
WORDS = {**{kind.value: words for kind, words in HOLDS.items()}, LEFT_OUT: "it is not brought in"}
KINDS: tuple[Column[str], ...] = (
    Column("Kind", 12, lambda name: name),
    Column("What it holds", 56, WORDS.__getitem__, stretch=True),
)
HOW = "Enter on a line chooses its kind, or that it is left out. Then ctrl+s goes on."


class FolderKindsForm(FormPage):
    """One line a file, guessed where its name or its headings tell; handed back are the kinds."""

    ONLY_ASKS = True
    DEFAULT_CSS = "FolderKindsForm FieldLine .label { width: 28; }"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Go on", "Take the files as these kinds")]

    def __init__(self, place: str, folder: Path, kinds: Mapping[Path, str]) -> None:
        super().__init__()
        self.PLACE = place  # type: ignore[misc]
        self.folder, self.kinds = folder, kinds
        """The kinds by file: '' where nobody knows yet."""

    def fields(self) -> tuple[Field, ...]:
        """Return a line a file."""
        return tuple(
            Field(f"{number}", path.name, self._said(kind), kind, picks=True)
            for number, (path, kind) in enumerate(self.kinds.items())
        )

    def _said(self, kind: str) -> str:
        return WORDS.get(kind, "which kind is it?")

    def set_up(self) -> None:
        """Stand on the first file of which nobody knows the kind."""
        super().set_up()
        self.head(f"Which kind is each file of {self.folder.name or self.folder}?")
        open_line = next((line for line in self.lines if not line.entry.value), self.lines[0])
        open_line.entry.focus()
        self.say(HOW)

    def choices_for(self, name: str) -> PickPage | None:
        """Return the kinds, and that it is left out."""
        file = list(self.kinds)[int(name)].name
        return PickPage(
            f"Which kind is {file}?",
            tuple(WORDS),
            KINDS,
            name_of=str,
            place=self.PLACE,
            many=False,
            ticked=[self.values().get(name, "")],
        )

    def on_pick_line_changed(self, message: PickLine.Changed) -> None:
        """Say beside the file what its kind holds."""
        for line in self.lines:
            if line.entry is message.line:
                line.hint = self._said(message.line.value)
                line.show_hint(line.hint)

    def action_keep(self) -> None:
        """Hand the kinds back, once each file has one or is left out."""
        values = self.values()
        open_lines = [line.field.name for line in self.lines if line.field.name not in values]
        faults = dict.fromkeys(open_lines, "choose a kind, or that it is left out")
        if not faults and not any(value in set(Kind) for value in values.values()):
            faults = {"": "All files are left out."}
        if faults:
            self.post_message(self.Refused(faults))
            return
        self.dismiss({path: values[f"{n}"] for n, path in enumerate(self.kinds)})

    def give_up(self) -> None:
        """Bring nothing in."""
        self.dismiss(None)
