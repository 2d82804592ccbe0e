"""The settings of the house: value, unit, bounds and why there is one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.acting import writing
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.edits_back import TakesEditsBack, take_back_key
from panel.desk.entries import Field
from panel.desk.keys import key
from panel.desk.list_page import ListPage
from panel.desk.pick import PickPage
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault
from panel.figures import in_digits
from panel.kinds import EditedList
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.questions.house import SettingLine

COLUMNS: tuple[Column[SettingLine], ...] = (
    Column("Setting", 24, lambda s: s.name),
    Column("Value", 9, lambda s: s.shown, lambda s: str(s.value), right=True),
    Column("Unit", 12, lambda s: s.unit),
    Column("From to", 10, lambda s: s.bounds),
    Column("Otherwise", 9, lambda s: "changed" if s.changed else ""),
    Column("Why", 30, lambda s: s.reason, stretch=True),
)
ZONE, MARK = "time_zone", "decimal_mark"
MARKS = ("point", "comma")
ZONES: tuple[Column[str], ...] = (Column("Zone", 40, lambda zone: zone, stretch=True),)
ASKS_WHY = "it guards people: raised above what it comes with it takes a reason, kept in the log"


class SettingsTable(BigTable["SettingLine"]):
    """Settings, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class SettingsPage(ListPage, TakesEditsBack):
    """All settings; Enter changes one."""

    PLACE = "house"
    TITLE_WORDS = "Settings"
    EDITED = EditedList.SETTINGS
    BACK = Act.SETTING
    DEFAULT_CSS = "SettingsPage #why { height: 2; padding: 0 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("j", "change", "Change", "settings.change", "Another value"),
        take_back_key("settings.take_back"),
    ]

    @dataclass
    class Read(Message):
        """The settings have been read."""

        settings: list[SettingLine]

    def body(self) -> ComposeResult:
        """Put under the list what the columns have no room for."""
        yield from super().body()
        yield Static(id="why")

    def table(self) -> BigTable[SettingLine]:
        """Make the table of settings."""
        return SettingsTable(COLUMNS, name_of=lambda s: s.name)

    @work(thread=True, exclusive=True, group="settings", exit_on_error=False)
    def read(self) -> None:
        """Read all settings."""
        from panel.questions.house import setting_lines

        with self.desk.store.read() as db:
            settings = setting_lines(db)
        self.hand_over(self.Read(settings))

    def on_settings_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(message.settings)
        self.desk.zone = next(each.shown for each in message.settings if each.name == ZONE)

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Say why there is the setting of the arrow: the column is cut at 80 cells."""
        setting: SettingLine = event.row
        words = f"{setting.name}, {setting.unit}: {setting.reason}."
        self.query_one("#why", Static).update(Content(words))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Change the setting."""
        self.app.push_screen(SettingForm(event.row))

    def edited_name(self) -> str | None:
        """Return the setting of the arrow."""
        setting: SettingLine | None = self.list.current
        return setting.name if setting else None

    def action_change(self) -> None:
        """Change the setting of the arrow."""
        if self.list.current is not None:
            self.app.push_screen(SettingForm(self.list.current))


class SettingForm(DeedForm):
    """Another value, and why."""

    PLACE = "house"
    ACT = Act.SETTING

    def __init__(self, setting: SettingLine) -> None:
        super().__init__()
        self.setting = setting

    def fields(self) -> tuple[Field, ...]:
        """Return value and reason."""
        setting = self.setting
        bounds = f", {setting.bounds}" if setting.bounds else ""
        picks = setting.name == ZONE
        choices = MARKS if setting.name == MARK else ()
        return (
            Field("value", "Value", f"{setting.unit}{bounds}", setting.shown, choices, picks=picks),
            Field("reason", "Reason", "kept in the log; may be empty", wide=True),
        )

    def set_up(self) -> None:
        """Say which, and why there is one."""
        super().set_up()
        self.head(self.setting.name, self.setting.reason)
        self.lines[0].entry.focus()

    def choices_for(self, name: str) -> PickPage | None:
        """Return the time zones that there are."""
        from zoneinfo import available_timezones

        zones = sorted(available_timezones())
        return PickPage(
            "Which time zone?",
            zones,
            ZONES,
            name_of=lambda zone: zone,
            place=self.PLACE,
            many=False,
            ticked=[self.setting.shown],
        )

    def look(self, values: dict[str, str]) -> None:
        """See that a number has a value; words may be empty."""
        typed = Entries(values)
        if self.setting.bounds:
            typed.needed("value", f"a number, {self.setting.bounds} {self.setting.unit}")
        typed.settle()

    def do(self, values: dict[str, str]) -> str:
        """Keep it."""
        from panel.records.settings import change_setting

        desk, name = self.desk, self.setting.name
        try:
            with writing(desk.store) as db:
                done = change_setting(
                    db,
                    name,
                    values.get("value", ""),
                    now=desk.now(),
                    by=desk.by,
                    reason=values.get("reason"),
                )
        except EntriesAtFault as error:
            asked = {"reason": ASKS_WHY} if "reason" in error.faults else {}
            raise EntriesAtFault(error.faults | asked) from error
        if name == ZONE:
            desk.zone = str(done.value)
        if name == MARK:
            desk.hand.comma = done.value == MARKS[1]
        return f"{name}: {plain(done.value)} {self.setting.unit} (was {plain(done.before)})."


def plain(value: float | str) -> str:
    """Return a value as it is read."""
    return value if isinstance(value, str) else in_digits(value, "g")
