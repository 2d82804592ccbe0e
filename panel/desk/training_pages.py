"""Training at the desk: who is in it and what is poured, how far somebody is, and the two acts."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar

from panel.desk.acting import writing
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.passing_texts import LinesPage
from panel.desk.typed import DAY_HINT, Entries
from panel.records.acts import Act

if TYPE_CHECKING:
    from textual.binding import BindingType

    from panel.desk.page import Drawn


class TrainingsPage(LinesPage):
    """Who is or was in training, and what an exercise can be poured from."""

    PLACE = "people"
    HEAD = "In training"

    def lines(self) -> list[str]:
        """Read both."""
        from panel.questions.training import known_samples, training_lines
        from panel.words.training_words import known_lines, list_lines

        with self.desk.store.read() as db:
            who = list_lines(training_lines(db, as_of=self.desk.today()))
            known = known_lines(known_samples(db))
        return [*who, "", "What an exercise is poured from: samples that the panel knows", *known]


class ReadinessPage(LinesPage):
    """How far one person is, exercise by exercise: opened once who sits here has proved it."""

    PLACE = "people"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code

    def set_up(self) -> None:
        """Say whose."""
        super().set_up()
        self.head(f"{self.code} in training")

    def drawn_as(self) -> Drawn | None:
        """Their learning curve."""
        from panel.pictures.people import learning
        from panel.questions.training import training_standing

        code, day = self.code, self.desk.today()
        return f"{code} in training", lambda db: learning(training_standing(db, code, as_of=day))

    def lines(self) -> list[str]:
        """Reckon it."""
        from panel.errors import OakpanelError
        from panel.questions.training import training_standing
        from panel.words.training_words import training_lines

        with self.desk.store.read() as db:
            try:
                found = training_standing(db, self.code, as_of=self.desk.today())
            except OakpanelError as error:
                return [str(error)]
        return training_lines(found, self.text_width)


class BeginTrainingForm(DeedForm):
    """From which day on somebody is in training."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Begin", "Put them into training")]
    PLACE = "people"
    ACT = Act.ROLES
    TITLE_WORDS = "Training begins"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code

    def fields(self) -> tuple[Field, ...]:
        """Return the day."""
        today = str(self.desk.today())
        hint = f"{DAY_HINT}; what they score from then on counts for nothing"
        return (Field("begun_on", "Begun on", hint, value=today),)

    def set_up(self) -> None:
        """Say whose."""
        super().set_up()
        self.head(f"{self.code} in training")
        self.lines[0].entry.focus()

    def look(self, values: dict[str, str]) -> date:
        """Return the day."""
        typed = Entries(values)
        day = typed.needed_day("begun_on")
        typed.settle()
        return day

    def do(self, values: dict[str, str]) -> str:
        """Record it."""
        from panel.records.training import begin_training

        desk, day = self.desk, self.look(values)
        with writing(desk.store) as db:
            done = begin_training(db, self.code, begun_on=day, now=desk.now(), by=desk.by)
        return done.words()


class TakeInForm(DeedForm):
    """From which day on somebody who is ready is one of the panel."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Take in", "Their scores count from then")]
    PLACE = "people"
    ACT = Act.ROLES
    TITLE_WORDS = "Taken in"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("on", "From", f"{DAY_HINT}; empty: as soon as may be"),
    )

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code

    def set_up(self) -> None:
        """Say whose, and what it asks."""
        super().set_up()
        self.head(f"{self.code} is taken in")
        self.say("Only who is called ready can be: what was scored in training stays apart.")

    def look(self, values: dict[str, str]) -> date | None:
        """Return the day, if one is given."""
        typed = Entries(values)
        day = typed.day("on")
        typed.settle()
        return day

    def do(self, values: dict[str, str]) -> str:
        """Take them in."""
        from panel.records.training import take_in
        from panel.words.training_words import taken_in_words

        desk, day = self.desk, self.look(values)
        with writing(desk.store) as db:
            done = take_in(db, self.code, on=day, now=desk.now(), by=desk.by)
        return taken_in_words(done)
