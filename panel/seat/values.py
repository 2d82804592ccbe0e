"""What a booth may know, as values: for faces that reach the records through this room alone."""

from panel.kinds import SessionStatus, Task
from panel.session.naming import may_still_name
from panel.session.scoring import glass_in_hand, lines_at_low
from panel.session.sets import Answering, GlassSet, answerable, set_in_hand, task_of
from panel.session.traces import (
    SPIT_S,
    answers_of,
    next_prompt,
    prompts_of,
    second_asked,
    since_sip_s,
)
from panel.store.booth_tray import DEED_DIGITS, LATEST_S, Glass, Line, Seat, Tray
from panel.store.engine import Store
from panel.store.word_text import LONGEST_NOTE, LONGEST_WORD

__all__ = [
    "DEED_DIGITS",
    "LATEST_S",
    "LONGEST_NOTE",
    "LONGEST_WORD",
    "SPIT_S",
    "Answering",
    "Glass",
    "GlassSet",
    "Line",
    "Seat",
    "SessionStatus",
    "Store",
    "Task",
    "Tray",
    "answerable",
    "answers_of",
    "glass_in_hand",
    "lines_at_low",
    "may_still_name",
    "next_prompt",
    "prompts_of",
    "second_asked",
    "set_in_hand",
    "since_sip_s",
    "task_of",
]
