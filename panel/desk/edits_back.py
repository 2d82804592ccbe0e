"""The last edit of a list taken back, from the pages of lexicon, targets, rules and settings."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from panel.desk.keys import key
from panel.desk.pin_slip import proved
from panel.desk.taking_back import TakesBack
from panel.kinds import EditedList

if TYPE_CHECKING:
    from textual.binding import Binding

    from panel.records.acts import Act
    from panel.records.taking_back import LastAct
    from panel.store.engine import Session

WHAT_FOR = "Take back what was edited last"


def take_back_key(name: str) -> Binding:
    """Return the key of a page for its last edit."""
    return key("u", "take_back", "Take back", name, WHAT_FOR)


class TakesEditsBack(TakesBack):
    """A page of a list: `u` writes what stood before the last edit of what the arrow is on."""

    EDITED: ClassVar[EditedList]
    BACK: ClassVar[Act | None] = None
    """What an edit of the list is where it binds: whoever takes it back proves who they are."""

    def edited_name(self) -> str | None:
        """Return what the arrow is on; None where there is nothing."""
        raise NotImplementedError

    def action_take_back(self) -> None:
        """Take the last edit back."""
        name = self.edited_name()
        if name is None:
            return
        if self.BACK is None:
            self.reverse(name)
        else:
            proved(self.desk, self.BACK, lambda: self.reverse(name))

    def taken_back(self, db: Session, name: str, seen: LastAct | None) -> str:
        """Write it, and return what was done."""
        from panel.records.lists_back import take_edit_back

        desk = self.desk
        return take_edit_back(db, self.EDITED, name, now=desk.now(), by=desk.by).sentence()
