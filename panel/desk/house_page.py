"""What the house holds beside its casks and people: settings, rules, register, files, database."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acts_page import ActsPage
from panel.desk.homes import page_of
from panel.desk.keys import Offer
from panel.desk.slip import Confirm
from panel.desk.text_page import TextPage
from panel.figures import in_digits


class HousePage(ActsPage):
    """A line for each; Enter opens it."""

    PLACE = "house"
    TITLE_WORDS = "House"
    OFFERS = (
        Offer("house.settings", "Settings", "open_settings", "Each with its unit and its why"),
        Offer("house.rules", "Rules of law", "open_rules", "Sets in force; each cites its law"),
        Offer(
            "house.register",
            "Register of samples",
            "open_register",
            "Pure alcohol drawn, why, and what became of it",
        ),
        Offer("house.load", "Bring records in", "open_load", "CSV or Excel, checked first"),
        Offer("house.folder", "Bring in a folder", "open_folder", "Files called after kinds"),
        Offer("house.save", "Save records", "open_save", "Into a CSV or Excel file; templates"),
        Offer("house.check", "Check", "open_check", "Is the database whole, the log unbroken"),
        Offer("house.backup", "Back up", "open_backup", "Into a new file, checked"),
        Offer("house.restore", "Put a backup back", "open_restore", "Says first what is lost"),
        Offer(
            "house.forget",
            "Overwrite what was erased",
            "forget",
            "Finishes an erasure that others held up",
        ),
        Offer("house.start", "First steps", "open_start", "Six steps, ticked as done"),
    )
    BINDINGS: ClassVar[list[BindingType]] = []

    @dataclass
    class Read(Message):
        """How much there is."""

        facts: list[str]

    @dataclass
    class Forgotten(Message):
        """What was erased is overwritten, or is not."""

        lines: list[str]

    @work(thread=True, exclusive=True, group="house", exit_on_error=False)
    def read(self) -> None:
        """Read how much there is."""
        from panel.questions.house import house_sizes
        from panel.questions.register import sessions_untold
        from panel.words.register_words import sessions_open

        with self.desk.store.read() as db:
            sizes = house_sizes(db)
            untold = sessions_untold(db)
        held = ", ".join(f"{in_digits(count, ',')} {what}" for what, count in sizes.items())
        where = f"Database: {self.desk.base} (Check says where it lies)"
        facts = [where, f"Holds: {held}", f"Time zone: {self.desk.zone}", *sessions_open(untold)]
        self.hand_over(self.Read(facts))

    def on_house_page_read(self, message: Read) -> None:
        """Show it."""
        self.tell(message.facts)

    def action_open_settings(self) -> None:
        """Open the settings."""
        self.app.push_screen(page_of("settings"))

    def action_open_rules(self) -> None:
        """Open the rules of law."""
        self.app.push_screen(page_of("rules"))

    def action_open_register(self) -> None:
        """Open the register of samples."""
        self.app.push_screen(page_of("register"))

    def action_open_load(self) -> None:
        """Open the form that brings a file in."""
        self.app.push_screen(page_of("load"))

    def action_open_folder(self) -> None:
        """Open the form that brings a folder in."""
        self.app.push_screen(page_of("folder"))

    def action_open_save(self) -> None:
        """Open the form that saves."""
        self.app.push_screen(page_of("save"))

    def action_open_check(self) -> None:
        """Open the form that checks."""
        self.app.push_screen(page_of("check"))

    def action_open_backup(self) -> None:
        """Open the form that backs up."""
        self.app.push_screen(page_of("backup"))

    def action_open_restore(self) -> None:
        """Open the form that puts a backup back."""
        self.app.push_screen(page_of("restore"))

    def action_open_start(self) -> None:
        """Open the first steps."""
        self.app.push_screen(page_of("start"))

    def action_forget(self) -> None:
        """Ask, then overwrite what was erased."""

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.say("Overwriting ...")
                self.overwrite()

        self.app.push_screen(Confirm("Overwrite what was erased", FORGETS), answered)

    @work(thread=True, exclusive=True, group="forget", exit_on_error=False)
    def overwrite(self) -> None:
        """Write the file anew."""
        from panel.desk.erase_form import after_overwriting
        from panel.records.forgetting import forget
        from panel.store.holders import named
        from panel.words.erasure_words import waiting_words

        def waits(held_by: tuple[str, ...]) -> None:
            self.app.call_from_thread(self.say, waiting_words(named(held_by)))

        done = forget(self.desk.store, waits)
        self.post_message(self.Forgotten(list(after_overwriting(done))))

    def on_house_page_forgotten(self, message: Forgotten) -> None:
        """Show what was done."""
        self.say("")
        self.app.push_screen(TextPage(self.PLACE, "Overwrite what was erased", message.lines))


FORGETS = (
    "The file is written anew, which takes twice its size in room for the",
    "time being, and what is kept of earlier answers is deleted. While",
    "others have the database open it waits half a minute.",
    "",
    "No record is lost.",
)
