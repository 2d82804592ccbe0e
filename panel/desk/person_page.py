"""One person of the house: PIN, roles, leaving, and what is kept about them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.acts_page import ActsPage
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.new_pin_slip import NewPinSlip
from panel.desk.own_moving import ShowsMoving
from panel.desk.pin_slip import GivenOutSlip, proved
from panel.desk.slip import Confirm, ReadSlip
from panel.desk.text_page import TextPage
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.desk.page import Drawn
    from panel.questions.people import PersonLine


class PersonPage(ActsPage, ShowsMoving):
    """What is known of a person, and all that can be done about it."""

    PLACE = "people"
    OFFERS = (
        Offer("person.pin", "Give a PIN", "pin", "Typed twice by whoever will use it, never shown"),
        Offer("person.made_pin", "Make a PIN", "make_pin", "At random, shown this once"),
        Offer("person.roles", "Change roles", "roles", "Assessor, pourer, blender, lead"),
        Offer("person.left", "Left the house", "left", "From which day they are no longer here"),
        Offer("person.lock", "End their passes", "lock", "Their PIN is asked for again anywhere"),
        Offer("person.consent", "Consent", "consent", "To which text, on which day"),
        Offer("person.withdraw", "Withdraw consent", "withdraw", "Planned into nothing any more"),
        Offer(
            "person.training", "Begin training", "training", "What they score counts for nothing"
        ),
        Offer("person.ready", "How far in training", "ready", "Their exercises, by PIN"),
        Offer("person.take_in", "Take in", "take_in", "One of the panel, once they are ready"),
        Offer("person.export", "Their own data", "export", "All that is kept about them, to have"),
        Offer(
            "person.private",
            "Their own data, all of it",
            "export_private",
            "With what is close to their health; the lead's PIN",
        ),
        Offer("person.erase", "Erase", "erase", "For good; says first what goes and what stays"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        key("j", "roles", "Change", "person.change", "Give or take roles"),
        key("minus", "left", "Leave", "person.leave", "From when they are no longer here"),
    ]

    @dataclass
    class Read(Message):
        """What is known has been read; nothing of one who is not there any more."""

        person: PersonLine | None

    @dataclass
    class PinGiven(Message):
        """The person has a new PIN; `shown` only where it was made at random."""

        shown: str | None

    @dataclass
    class Withdrawn(Message):
        """Their consent is withdrawn."""

        lines: tuple[str, ...]

    @dataclass
    class Collected(Message):
        """All that is kept about them."""

        text: str
        private: bool

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.person: PersonLine | None = None

    @property
    def whose(self) -> str:
        """Who is drawn by f6."""
        return self.code

    def drawn_as(self) -> Drawn | None:
        """Their row over the sessions; of one session there is nothing to see."""
        sat = self.person.n_sessions if self.person else 0
        return super().drawn_as() if sat > 1 else None

    def set_up(self) -> None:
        """Say who."""
        super().set_up()
        self.head(self.code)

    @work(thread=True, exclusive=True, group="person", exit_on_error=False)
    def read(self) -> None:
        """Read what is known."""
        from panel.questions.people import people_lines

        with self.desk.store.read() as db:
            lines = people_lines(db, now=self.desk.now(), today=self.desk.today())
        self.hand_over(self.Read(next((line for line in lines if line.code == self.code), None)))

    def on_person_page_read(self, message: Read) -> None:
        """Show it."""
        self.person = message.person
        known = [f"There is nobody of the code {self.code} any more."]
        self.tell(known if message.person is None else person_words(message.person))
        self.refresh_bindings()

    def action_pin(self) -> None:
        """Let a PIN be typed, once who sits here has proved that they may give one."""
        proved(self.desk, Act.PINS, self._ask_pin, about=self.code)

    def _ask_pin(self) -> None:
        def typed(pin: str | None) -> None:
            if pin:
                self.give(pin, show=False)

        self.app.push_screen(NewPinSlip(self.code), typed)

    def action_make_pin(self) -> None:
        """Make a PIN, once who sits here has proved that they may."""
        from panel.store.pins import new_pin

        proved(self.desk, Act.PINS, lambda: self.give(new_pin(), show=True), about=self.code)

    @work(thread=True, exclusive=True, group="pin", exit_on_error=False)
    def give(self, pin: str, *, show: bool) -> None:
        """Keep the PIN."""
        from panel.records.people import set_pin

        desk = self.desk
        with writing(desk.store) as db:
            set_pin(db, self.code, pin, now=desk.now(), by=desk.by)
        self.post_message(self.PinGiven(pin if show else None))

    def on_person_page_pin_given(self, message: PinGiven) -> None:
        """Say so; a PIN made at random is shown this once."""
        self.desk.changes += 1
        self.seen = self.desk.changes
        self.read()
        self.say(f"{self.code} has a new PIN.")
        if message.shown is not None:
            lines = [f"The PIN of {self.code} is {message.shown}", "", ONCE]
            self.app.push_screen(ReadSlip(f"A PIN for {self.code}, shown this once", lines))

    def action_roles(self) -> None:
        """Open the form of roles."""
        if self.person is not None:
            self.app.push_screen(page_of("roles", self.person))

    def action_left(self) -> None:
        """Open the form of leaving."""
        self.app.push_screen(page_of("leaving", self.code))

    def action_consent(self) -> None:
        """Open the form of a consent."""
        self.app.push_screen(page_of("consent", self.code))

    def action_training(self) -> None:
        """Open the form of a training."""
        self.app.push_screen(page_of("training begins", self.code))

    def action_ready(self) -> None:
        """Show how far they are, to them or a lead."""

        def shown() -> None:
            self.app.push_screen(page_of("readiness", self.code))

        proved(self.desk, Act.OWN_PAGE, shown, about=self.code)

    def action_take_in(self) -> None:
        """Open the form of taking somebody in."""
        self.app.push_screen(page_of("taken in", self.code))

    def action_withdraw(self) -> None:
        """Say what goes, then withdraw their consent."""

        def answered(agreed: bool | None) -> None:
            if agreed:
                proved(self.desk, Act.CONSENT, self.withdraw, about=self.code)

        self.app.push_screen(Confirm(f"Withdraw the consent of {self.code}?", WITHDRAWN), answered)

    @work(thread=True, exclusive=True, group="withdraw", exit_on_error=False)
    def withdraw(self) -> None:
        """Withdraw it in a job of its own."""
        from panel.records.consents import withdraw_consent
        from panel.words.people_words import withdrawn_lines

        desk = self.desk
        with writing(desk.store) as db:
            done = withdraw_consent(db, self.code, now=desk.now(), by=desk.by)
        self.post_message(self.Withdrawn(tuple(withdrawn_lines(done))))

    def on_person_page_withdrawn(self, message: Withdrawn) -> None:
        """Say what was done and what is left to do."""
        self.desk.changes += 1
        self.seen = self.desk.changes
        self.read()
        self.app.push_screen(ReadSlip(f"{self.code}: consent withdrawn", message.lines))

    @work(thread=True, exclusive=True, group="lock", exit_on_error=False)
    def action_lock(self) -> None:
        """End every pass of theirs."""
        from panel.records.proving import lock
        from panel.words.people_words import passes_words

        ended = lock(self.desk.store, self.code, now=self.desk.now())
        self.app.call_from_thread(self.say, passes_words(ended))

    def action_export(self) -> None:
        """Show what is kept about them, to be handed on."""
        proved(self.desk, Act.EXPORT, lambda: self.collect(private=False), about=self.code)

    def action_export_private(self) -> None:
        """The same with what is close to their health, behind the lead's PIN."""

        def answered(known: bool | None) -> None:
            if known:
                self.collect(private=True)

        self.app.push_screen(GivenOutSlip(self.code), answered)

    @work(thread=True, exclusive=True, group="record", exit_on_error=False)
    def collect(self, *, private: bool) -> None:
        """Gather all that is kept about them."""
        from panel.questions.plain_values import json_text
        from panel.records.people import give_out_private
        from panel.store.person_record import person_record

        desk = self.desk
        if private:
            with writing(desk.store) as db:
                record = give_out_private(db, self.code, now=desk.now(), by=desk.by)
        else:
            with desk.store.read() as db:
                record = person_record(db, self.code)
        self.post_message(self.Collected(json_text(record), private))

    def on_person_page_collected(self, message: Collected) -> None:
        """Show it on a page of its own."""
        title = f"{self.code}: all that is kept" + (", private too" if message.private else "")
        file = f"{self.code}-own-data.json"
        self.app.push_screen(TextPage(self.PLACE, title, message.text.splitlines(), file=file))

    def action_erase(self) -> None:
        """Open the form that erases, which says first what goes."""
        self.app.push_screen(page_of("erase", self.code))


WITHDRAWN = [
    "They go out of every draft, are no assessor any more, and are planned into nothing.",
    "Scores and name stay until they are erased: that is the next step, as they agreed.",
]
ONCE = "It stands nowhere else: hand it over now, away from the others."


def person_words(person: PersonLine) -> list[str]:
    """Return what is known of a person."""
    from panel.words.people_words import consent_words

    past = person.recovered_on
    left = f", left {person.left_on}" if person.left_on else ""
    return [
        f"Roles: {', '.join(person.roles) or 'none'}",
        f"PIN: {'set' if person.has_pin else 'not set, so that no booth opens for this code'}",
        *([f"It was given past the leads on {past}, by who owns the database."] if past else []),
        f"Joined: {person.joined_on or 'not on record'}{left}",
        f"Sessions: {person.n_sessions}",
        *([f"In training since {since}."] if (since := person.in_training_since) else []),
        consent_words(person.consent),
        *([f"Kept longer than this house says: {person.past}."] if person.past else []),
    ]
