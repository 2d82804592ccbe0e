"""What a booth may know, as values: for faces that reach the records through this room alone."""

from panel.kinds import SessionStatus
from panel.session.naming import may_still_name
from panel.session.scoring import glass_in_hand, lines_at_low
from panel.store.booth_tray import DEED_DIGITS, Glass, Line, Seat, Tray
from panel.store.engine import Store
from panel.store.pin_guard import Strangers
from panel.store.word_text import LONGEST_NOTE, LONGEST_WORD

__all__ = [
    "DEED_DIGITS",
    "LONGEST_NOTE",
    "LONGEST_WORD",
    "Glass",
    "Line",
    "Seat",
    "SessionStatus",
    "Store",
    "Strangers",
    "Tray",
    "glass_in_hand",
    "lines_at_low",
    "may_still_name",
]
