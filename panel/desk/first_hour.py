"""The first hour: no database yet. An empty house, files, the demo, or a pack that came."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.binding import BindingType

from panel.clock import machine_zone
from panel.desk.acts_page import ActsPage
from panel.desk.beginning import Beginning
from panel.desk.database_forms import path_in
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.first_pin import FirstPinForm
from panel.desk.form import finishing
from panel.desk.keys import Offer
from panel.desk.pick import PickPage
from panel.desk.settings_page import ZONES
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault


class FirstHourPage(ActsPage):
    """What to begin with. There is no place to go to yet, so that none stands on top."""

    TITLE_WORDS = "Oakpanel: there is no house here yet"
    IN_A_HOUSE = False
    OFFERS = (
        Offer("first.house", "An empty house", "house('sessions')", "Its lead, time zone and name"),
        Offer(
            "first.files",
            "A house from your files",
            "house('files')",
            "The same, then a folder of CSV or Excel files",
        ),
        Offer("first.demo", "Look around first", "demo", "An invented distillery, in its folder"),
        Offer(
            "first.pack", "A pack that came here", "pack", "Seats of a session, nosed at this site"
        ),
    )
    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, begun: Beginning) -> None:
        super().__init__()
        self.begun = begun

    def set_up(self) -> None:
        """Say where it would be."""
        super().set_up()
        kept = f"A house would be kept in {self.begun.where()}"
        self.tell([kept, "Nothing is made unasked."])

    def action_back(self) -> None:
        """There is nothing before this."""
        self.say("Ctrl+q leaves; nothing was made.")

    def action_house(self, then: str) -> None:
        """Ask what an empty house begins with."""
        self.app.push_screen(NewHouseForm(self.begun, then))

    def action_pack(self) -> None:
        """Ask for the pack, and who leads here."""
        from panel.desk.elsewhere_forms import FirstPackForm

        self.app.push_screen(FirstPackForm(self.begun))

    def action_demo(self) -> None:
        """Ask where the demo goes."""
        self.app.push_screen(DemoForm(self.begun))


class NewHouseForm(FirstPinForm):
    """Who leads, which time zone, what it is called; then a PIN, typed twice."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Make", "Make the house")]
    TITLE_WORDS = "A new house"
    IN_A_HOUSE = False

    def __init__(self, begun: Beginning, then: str) -> None:
        super().__init__()
        self.begun, self.then = begun, then

    def fields(self) -> tuple[Field, ...]:
        """Return what is asked, the time zone as the machine has it."""
        zone = machine_zone()
        return (
            Field("lead", "Who leads", "a short code, no name: sheets show it"),
            Field("name", "House", "what it is called; may be empty", wide=True),
            Field("zone", "Time zone", f"this machine's: {zone}", zone, picks=True),
        )

    def choices_for(self, name: str) -> PickPage | None:
        """Return the time zones that there are."""
        from zoneinfo import available_timezones

        return PickPage(
            "Which time zone?",
            sorted(available_timezones()),
            ZONES,
            name_of=lambda zone: zone,
            place=self.PLACE,
            many=False,
            ticked=[self.values().get(name, "")],
        )

    def look(self, values: dict[str, str]) -> None:
        """See that there is a lead and a time zone."""
        typed = Entries(values)
        typed.needed("lead", "give a code, such as LD")
        typed.needed("zone", "choose one")
        typed.settle()

    def do(self, values: dict[str, str]) -> str:
        """Make the database and write down who leads."""
        from panel.records.founding import Founding, found_house
        from panel.records.people import code_fault

        if wrong := code_fault(values["lead"]):
            raise EntriesAtFault({"lead": wrong})
        desk, lead = self.desk, values["lead"]
        store = self.begun.make()
        begun = Founding(lead, self.pin, values["zone"], values.get("name"))
        found_house(store, begun, now=desk.now())
        desk.founded(store, lead)
        return f"{values.get('name') or 'The house'} is made; {lead} leads it."

    def leave(self) -> None:
        """Go in; whoever just typed the PIN is not asked for it again."""
        self.app.call_later(self.desk.move_in, self.then)


class DemoForm(DeedForm):
    """Into which folder the demo goes."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Make", "Make the demo in this folder")]
    TITLE_WORDS = "Look around in the demo"
    IN_A_HOUSE = False

    def __init__(self, begun: Beginning) -> None:
        super().__init__()
        self.begun = begun

    def fields(self) -> tuple[Field, ...]:
        """Return the folder."""
        hint = "a new folder; delete it whenever you like"
        return (Field("folder", "Folder", hint, self.begun.demo_folder, wide=True),)

    def set_up(self) -> None:
        """Stand on the name, and say who leads there."""
        super().set_up()
        self.lines[0].entry.focus()
        self.say(self.begun.demo_words)

    def look(self, values: dict[str, str]) -> Path:
        """Return the folder, which must be new: nothing of an earlier demo is replaced here."""
        folder = path_in(values, "folder", "name a folder")
        if folder.exists():
            raise EntriesAtFault({"folder": "it is there already; give a new name"})
        return folder

    def action_keep(self) -> None:
        """Leave the screen to the demo, which says how far it is; the desk opens in it then."""
        try:
            folder = self.look(self.values())
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
        else:
            self.desk.leave_for_demo(folder)
