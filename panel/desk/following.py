"""The desk follows the log: what anybody else changes is shown, and a call from a booth stands on
every page until it is answered.

The end of the log is read in a job by one query by the primary key: of a file once a second, of a
server when it tells that the log has gone on (`panel/desk/listener.py`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar
from zoneinfo import ZoneInfo

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.clock import TAKE_BACK
from panel.desk.acting import leading
from panel.desk.keys import Offer, key
from panel.desk.listener import Listener
from panel.desk.window import TopLine

if TYPE_CHECKING:
    from datetime import datetime

    from textual.screen import Screen

    from panel.session.watching import Looked, WaitingCall

LOOK_S = 1.0
"""So often the end of the log is looked at: a change is then shown within two seconds."""


class Following(Listener):
    """What the desk knows of the log, and of who calls."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("a", "answer", "Answer", "desk.answer", "Answer the oldest call from a booth"),
        key("u", "take_back", "Take back", "desk.take_back", "Take that answer back"),
    ]
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("desk.bell", "Bell on a call, or none", "turn_bell", "Ring when a booth calls"),
    )
    looked: Looked | None = None
    answered: WaitingCall | None = None
    rings = False
    records_at = ""
    wrote_at: datetime | None = None
    """When a page wrote something last."""
    until: datetime
    """How long the answer may be taken back by its key."""
    by: str | None
    zone: str

    @dataclass
    class Saw(Message):
        """The log has gone on."""

        looked: Looked

    @dataclass
    class Seen(Message):
        """A call was answered, or waits again."""

        news: str
        answered: WaitingCall | None

    def now(self) -> datetime:
        """Return the present moment."""
        raise NotImplementedError

    @property
    def calls(self) -> tuple[WaitingCall, ...]:
        """Who waits for the lead, the longest first."""
        return () if self.looked is None else self.looked.calls

    def stands_at(self, *, booths: bool) -> str:
        """Return the end of the log as it was seen last, or as of the last change of a record."""
        if booths:
            return "" if self.looked is None else self.looked.chain_hex
        return self.records_at

    def follow_log(self) -> None:
        """Begin to follow; from then on once a second, or when a server tells."""
        self.look()
        self.listen()
        self.set_interval(LOOK_S, self.look_in_turn)

    @work(thread=True, exclusive=True, group="following", exit_on_error=False)
    def look(self) -> None:
        """See whether the log has gone on."""
        from panel.session.watching import look

        with self.store.read() as db:
            looked = look(db, self.looked, by=self.by)
        if looked.changed:
            self.post_message(self.Saw(looked))

    def on_following_saw(self, message: Saw) -> None:
        """Let the page in front follow; the others do once they are in front."""
        before, self.looked = self.looked, message.looked
        if message.looked.records:
            self.records_at = message.looked.chain_hex
        if before is None or before.number != message.looked.number:  # two looks may see the same
            self.doubt_the_line()
        known = {each.call.id for each in before.calls} if before else set()
        if self.rings and any(each.call.id not in known for each in self.calls):
            self.bell()
        self.show_calls()
        if before is not None:
            self.tell_pages(message.looked)

    def tell_pages(self, looked: Looked) -> None:
        """Have the page in front read again where it shows what has changed."""
        from panel.desk.page import Page

        front = self.in_front()
        if isinstance(front, Page):
            # In the page's own turn: one that was opened just now has no lines to speak in yet.
            front.call_later(front.follow, records=looked.records, others=looked.others)

    def show_calls(self) -> None:
        """Put the call that waits longest into the top line of every page."""
        for screen in self.screen_stack:
            for line in screen.query(TopLine):
                line.call = self.call_words()
        front = self.in_front()
        if front is not None:
            front.refresh_bindings()

    def in_front(self) -> Screen[Any] | None:
        """Return the screen in front; None between one place and the next, and at the end."""
        stack = self.screen_stack
        return stack[-1] if stack else None

    @property
    def can_let_wait(self) -> bool:
        """Whether the call that was answered last can be let wait again."""
        return self.answered is not None and self.now() < self.until

    @property
    def answered_last(self) -> bool:
        """Whether an answer, that can be taken back still, is the last thing that was done."""
        if not self.can_let_wait:
            return False
        return self.wrote_at is None or self.wrote_at <= self.until - TAKE_BACK

    def call_words(self) -> str:
        """Return who calls, of which glass and for what; empty where nobody does."""
        if not self.calls:
            return ""
        call = self.calls[0].call
        glass = f", glass {call.code}" if call.code else ""
        more = f" (+{len(self.calls) - 1})" if len(self.calls) > 1 else ""
        at = f"{call.called_at.astimezone(ZoneInfo(self.zone)):%H:%M}"
        return f"CALL {at} {call.assessor}{glass}: {call.reason}{more}"

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer an answer while somebody calls, and its taking back once it is given."""
        if action == "answer":
            return bool(self.calls)
        if action == "take_back":
            return self.can_let_wait
        return super().check_action(action, parameters)

    def action_turn_bell(self) -> None:
        """Ring when a booth calls, or be still again."""
        self.rings = not self.rings
        self.tell("A call rings the bell from now on." if self.rings else "No bell any more.")

    def action_answer(self) -> None:
        """Answer the call that waits longest."""
        if self.calls:
            self.answer(self.calls[0])

    @work(thread=True, exclusive=True, group="answer", exit_on_error=False)
    def answer(self, waiting: WaitingCall) -> None:
        """Note that the lead has seen to it."""
        from panel.session.calls import answer_call

        with leading(self.store, self.by) as acting:
            stopped = answer_call(acting.db, waiting.call.id, now=self.now(), by=acting.by)
        news = f"{waiting.call.assessor}'s call is answered; u takes that back."
        news = " ".join([*(draw.sentence() for draw in stopped), news])
        self.post_message(self.Seen(news, waiting))

    def action_take_back(self) -> None:
        """Let the call that was answered last wait again."""
        if self.answered is not None:
            self.let_wait(self.answered)

    @work(thread=True, exclusive=True, group="answer", exit_on_error=False)
    def let_wait(self, waiting: WaitingCall) -> None:
        """Note that it waits again."""
        from panel.session.calls import take_answer_back

        with leading(self.store, self.by) as acting:
            take_answer_back(acting.db, waiting.call.id, now=self.now(), by=acting.by)
        self.post_message(self.Seen(f"{waiting.call.assessor}'s call waits again.", None))

    def on_following_seen(self, message: Seen) -> None:
        """Say it on the page in front, and read it at once."""
        self.answered, self.until = message.answered, self.now() + TAKE_BACK
        self.tell(message.news)
        self.look()

    def tell(self, news: str) -> None:
        """Say something on the page in front."""
        from panel.desk.page import Page

        screen: Any = self.in_front()
        if isinstance(screen, Page):
            screen.say(news)
