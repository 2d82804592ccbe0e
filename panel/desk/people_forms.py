"""Forms about people: a new one, their roles, their leaving."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar

from panel.desk.acting import writing
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.homes import page_of
from panel.desk.pick import PickPage
from panel.desk.typed import DAY_HINT, Entries
from panel.errors import EntriesAtFault
from panel.kinds import Role
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.questions.people import PersonLine

MAY = {
    Role.ASSESSOR: "noses at a booth",
    Role.POURER: "prints the sheets and pours",
    Role.BLENDER: "makes targets, proposes and signs releases",
    Role.LEAD: "plans, seals, opens and reveals; changes the house",
}
ROLE_COLUMNS: tuple[Column[Role], ...] = (
    Column("Role", 10, lambda role: role.value),
    Column("May", 50, lambda role: MAY[role], stretch=True),
)


class PersonForm(DeedForm):
    """Somebody new; the PIN comes after, on their page."""

    PLACE = "people"
    ACT = Act.ROLES
    TITLE_WORDS = "Somebody new"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("code", "Code", "short, what sheets show; no name"),
        Field("roles", "Roles", "enter opens the list", Role.ASSESSOR.value, picks=True),
        Field("joined_on", "Joined on", f"{DAY_HINT}; may be empty"),
        Field("name", "Name", "kept apart, left out of exports; may be empty", wide=True),
    )

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list of roles."""
        taken = self.values().get(name, "").splitlines()
        return PickPage(
            "Which roles?",
            list(MAY),
            ROLE_COLUMNS,
            name_of=lambda role: role.value,
            place=self.PLACE,
            many=True,
            ticked=taken,
        )

    def look(self, values: dict[str, str]) -> date | None:
        """See that all is there; return the day."""
        typed = Entries(values)
        typed.needed("code", "give a code, such as A7")
        typed.needed("roles", "choose at least one")
        joined_on = typed.day("joined_on")
        typed.settle()
        return joined_on

    def do(self, values: dict[str, str]) -> str:
        """Record the person."""
        from panel.records.people import add_person

        joined_on, roles = self.look(values), values["roles"].splitlines()
        desk, code, name = self.desk, values["code"], values.get("name")
        with writing(desk.store) as db:
            held = add_person(
                db, code, roles, joined_on=joined_on, name=name, now=desk.now(), by=desk.by
            )
        return f"{code} is recorded: {', '.join(held)}. A PIN comes next."

    def leave(self) -> None:
        """Go to their page, where a PIN is given."""
        self.app.switch_screen(page_of("person", self.values()["code"]))


class RolesForm(DeedForm):
    """Which roles somebody has."""

    PLACE = "people"
    ACT = Act.ROLES
    TITLE_WORDS = "Roles"

    def __init__(self, person: PersonLine) -> None:
        super().__init__()
        self.person = person

    def fields(self) -> tuple[Field, ...]:
        """Return a yes or no for each role."""
        return tuple(
            Field(
                role.value,
                role.value.capitalize(),
                may,
                value="yes" if role.value in self.person.roles else "no",
                choices=("no", "yes"),
            )
            for role, may in MAY.items()
        )

    def set_up(self) -> None:
        """Say whose."""
        super().set_up()
        self.head(f"Roles of {self.person.code}")
        self.lines[0].entry.focus()

    def look(self, values: dict[str, str]) -> list[str]:
        """Return what is given and what is taken."""
        wanted = {role.value for role in MAY if values[role.value] == "yes"}
        given, taken = wanted - set(self.person.roles), set(self.person.roles) - wanted
        changes = [*(f"+{role}" for role in sorted(given)), *(f"-{role}" for role in sorted(taken))]
        if not changes:
            raise EntriesAtFault({"": "These are the roles they have."})
        return changes

    def do(self, values: dict[str, str]) -> str:
        """Give and take."""
        from panel.records.people import change_roles

        desk, changes = self.desk, self.look(values)
        with writing(desk.store) as db:
            held = change_roles(db, self.person.code, changes, now=desk.now(), by=desk.by)
        return f"{self.person.code}: {', '.join(held) or 'no role'}."


class LeavingForm(DeedForm):
    """From which day somebody is no longer here."""

    PLACE = "people"
    ACT = Act.ROLES
    TITLE_WORDS = "Leaving"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code

    def fields(self) -> tuple[Field, ...]:
        """Return the day."""
        today = str(self.desk.today())
        return (Field("left_on", "Left on", f"{DAY_HINT}; their scores stay", value=today),)

    def set_up(self) -> None:
        """Say who."""
        super().set_up()
        self.head(f"{self.code} leaves")
        self.lines[0].entry.focus()

    def look(self, values: dict[str, str]) -> date:
        """Return the day."""
        typed = Entries(values)
        left_on = typed.needed_day("left_on")
        typed.settle()
        return left_on

    def do(self, values: dict[str, str]) -> str:
        """Record it."""
        from panel.records.people import record_leaving

        desk, left_on = self.desk, self.look(values)
        with writing(desk.store) as db:
            record_leaving(db, self.code, left_on, now=desk.now(), by=desk.by)
        return f"{self.code} left on {left_on}."


class ConsentForm(DeedForm):
    """To which version of the house's text somebody consented, and on which day."""

    PLACE = "people"
    ACT = Act.CONSENT
    TITLE_WORDS = "Consent"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code

    def fields(self) -> tuple[Field, ...]:
        """Return text, day, and whether scores may stay."""
        return (
            Field("text", "Text", "its version; empty: the setting consent_text"),
            Field("given_on", "Given on", DAY_HINT, value=str(self.desk.today())),
            Field(
                *("keeps", "Scores stay", "under a pseudonym, once they are erased"),
                value="no",
                choices=("no", "yes"),
            ),
        )

    def set_up(self) -> None:
        """Say whose."""
        super().set_up()
        self.head(f"{self.code} consents")
        self.lines[0].entry.focus()

    def look(self, values: dict[str, str]) -> date:
        """Return the day."""
        typed = Entries(values)
        given_on = typed.needed_day("given_on")
        typed.settle()
        return given_on

    def do(self, values: dict[str, str]) -> str:
        """Record it."""
        from panel.records.consents import give_consent

        desk, given_on = self.desk, self.look(values)
        with writing(desk.store) as db:
            given = give_consent(
                *(db, self.code),
                text_version=values.get("text"),
                keeps_scores=values["keeps"] == "yes",
                given_on=given_on,
                now=desk.now(),
                by=desk.by,
            )
        return f"{self.code} consented on {given.given_on} to text {given.text_version}."
