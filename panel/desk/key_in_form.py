"""Ballots from paper, keyed twice: the two files, compared and kept where they are alike."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.binding import BindingType

from panel.desk.acting import leading
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.errors import EntriesAtFault
from panel.records.acts import Act


class KeyInForm(DeedForm):
    """Two files of one session's ballots, each keyed by another person."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Compare", "Compare, and keep if alike")]
    PLACE = "sessions"
    ACT = Act.KEY_IN
    TITLE_WORDS = "Ballots keyed in"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("first", "First file", "as one person keyed it", wide=True),
        Field("second", "Second file", "as another did; what differs is told", wide=True),
    )

    def __init__(self, session: str) -> None:
        super().__init__()
        self.session_name = session

    def set_up(self) -> None:
        """Say of which session, and where a file comes from."""
        super().set_up()
        self.head(f"Ballots of {self.session_name}")
        self.say("`oakpanel session key NAME --template` makes a file to be keyed into.")

    def look(self, values: dict[str, str]) -> None:
        """See that both are named."""
        empty = {name: "name the file" for name in ("first", "second") if name not in values}
        if empty:
            raise EntriesAtFault(empty)

    def do(self, values: dict[str, str]) -> str:
        """Compare them, and keep the ballots."""
        from panel.session.keyed import ballot_files, keep_ballots

        first, second = (Path(values[name]).expanduser() for name in ("first", "second"))
        one, other = ballot_files(first, second)
        desk = self.desk
        with leading(desk.store, desk.by) as acting:
            kept = keep_ballots(
                acting.db, self.session_name, one, other, now=desk.now(), by=acting.by
            )
        return f"{kept.glasses} glasses of {', '.join(kept.assessors)} are kept."
