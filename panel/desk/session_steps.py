"""The steps a lead takes with one session: each is asked about first, and done in a job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import work
from textual.message import Message

from panel.desk.glass_field import GlassField, standing
from panel.desk.homes import page_of
from panel.desk.page import Page
from panel.desk.slip import Confirm, ReadSlip

if TYPE_CHECKING:
    from panel.desk.session_jobs import Step, Told


class SessionSteps(Page):
    """A page of one session, from which it is taken from stage to stage."""

    @dataclass
    class Done(Message):
        """A step was taken."""

        news: str
        lines: tuple[str, ...]
        untold: int = 0

    @dataclass
    class Dropped(Message):
        """The draft is gone."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.session_name = name
        self.told: Told | None = None

    def action_seal(self) -> None:
        """Ask, then seal."""
        self.ask("seal")

    def action_open(self) -> None:
        """Ask, then open."""
        self.ask("open")

    def action_close(self) -> None:
        """Ask, then close."""
        self.ask("close")

    def action_reveal(self) -> None:
        """Ask, then reveal."""
        self.ask("reveal")

    def action_sheets(self) -> None:
        """Ask, then write the sheets."""
        self.ask("sheets")

    def ask(self, step: Step) -> None:
        """Say what will happen; do it on a yes."""
        from panel.desk.pin_slip import proved
        from panel.desk.session_jobs import STEP_ACTS
        from panel.desk.session_words import what_will_happen

        if self.told is None:
            return
        title, lines = what_will_happen(step, self.told)

        def answered(agreed: bool | None) -> None:
            if agreed:
                proved(self.desk, STEP_ACTS[step], go_on)

        def go_on() -> None:
            self.say("Working ...")
            self.take(step)

        self.app.push_screen(Confirm(title, lines), answered)

    @work(thread=True, exclusive=True, group="step", exit_on_error=False)
    def take(self, step: Step) -> None:
        """Take a step in a job of its own."""
        from panel.desk.session_jobs import count_untold, take_step

        desk = self.desk
        news, lines = take_step(desk.store, step, self.session_name, now=desk.now(), by=desk.by)
        untold = count_untold(desk.store, self.session_name) if step == "close" else 0
        self.post_message(self.Done(news, tuple(lines), untold))

    def on_session_steps_done(self, message: Done) -> None:
        """Tell what was done and read anew."""
        self.desk.wrote(message.news)
        self.say(self.desk.take_news())
        self.seen = self.desk.changes
        self.read()
        if message.lines:
            self.app.push_screen(ReadSlip(message.news, message.lines))
        if message.untold:
            self.action_fates()

    @work(thread=True, exclusive=True, group="step", exit_on_error=False)
    def action_paper(self) -> None:
        """Write what tells nothing of the key."""
        from panel.desk.session_jobs import write_paper

        desk = self.desk
        news, lines = write_paper(desk.store, self.session_name, now=desk.now(), by=desk.by)
        self.post_message(self.Done(news, tuple(lines)))

    def action_fates(self) -> None:
        """Ask what became of its samples; asked once at the close, and left as it is by escape."""
        self.app.push_screen(page_of("fates", self.session_name))

    def action_key_in(self) -> None:
        """Ask for the two files of ballots from paper."""
        self.app.push_screen(page_of("key in", self.session_name))

    def action_pack(self) -> None:
        """Ask which seats go to which other site."""
        self.app.push_screen(page_of("pack", self.session_name))

    def action_away(self) -> None:
        """Show what of it is at other sites."""
        from panel.desk.elsewhere_forms import away_page

        self.app.push_screen(away_page(self.desk.store, self.session_name))

    def action_recall(self) -> None:
        """Ask which site is given up, and why."""
        self.app.push_screen(page_of("recall", self.session_name))

    def action_give_back(self) -> None:
        """Ask how much was destroyed here, and into which file it goes home."""
        self.app.push_screen(page_of("give back", self.session_name))

    def action_seats(self) -> None:
        """Ask who does not come, and who comes late."""
        self.app.push_screen(page_of("seats", self.session_name))

    def action_serve(self) -> None:
        """Show the server of its booths in browsers, or ask how to start it."""
        if self.told is None:
            return
        seats = tuple(seat.assessor for seat in self.told.progress.seats)
        serving = self.desk.serving
        runs = serving is not None and serving.runs and serving.session == self.session_name
        if runs:
            self.app.push_screen(page_of("serve", self.session_name, seats))
        else:
            self.app.push_screen(page_of("start serve", self.session_name, seats))

    def action_mark(self) -> None:
        """Open the form that marks the chosen glass."""
        chosen = self.query_one(GlassField).chosen
        if chosen is not None and self.told is not None:
            seat, glass = chosen
            others = tuple(each.code for each in standing(seat) if each.code != glass.code)
            name, stage, code = self.session_name, self.told.stage, glass.code
            self.app.push_screen(
                page_of("mark", name, seat.assessor, code, stage, glass.state, others)
            )

    def action_reopen(self) -> None:
        """Open the form that asks why."""
        self.app.push_screen(page_of("reopen", self.session_name))

    def action_replan(self) -> None:
        """Open the plan again."""
        if self.told is not None:
            self.app.push_screen(page_of("plan", self.told.plan_values))

    def action_drop(self) -> None:
        """Ask, then drop the draft."""

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.drop()

        lines = [
            "The draft goes, with what was planned in it; its name is free again.",
            "That there was one stands in the log.",
        ]
        self.app.push_screen(Confirm(f"Drop {self.session_name}?", lines), answered)

    @work(thread=True, exclusive=True, group="step", exit_on_error=False)
    def drop(self) -> None:
        """Drop it in a job of its own."""
        from panel.desk.session_jobs import drop_one

        drop_one(self.desk.store, self.session_name, now=self.desk.now(), by=self.desk.by)
        self.post_message(self.Dropped())

    def on_session_steps_dropped(self) -> None:
        """Go back to the list with the news."""
        self.desk.wrote(f"Draft {self.session_name} is dropped.")
        self.app.pop_screen()
