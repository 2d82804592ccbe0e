"""The form that plans a session: shows minutes, dose and warnings before the draft is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.message import Message
from textual.widgets import Input

from panel.desk.columns import Column
from panel.desk.entries import ChoiceLine, Field
from panel.desk.form import FormPage
from panel.desk.homes import page_of
from panel.desk.pick import PickPage
from panel.desk.plan_entry import BY_FLIGHTS, PairLine, pair_lines
from panel.desk.slip import Confirm, ReadSlip
from panel.figures import in_digits
from panel.kinds import PeatOrder, SessionKind

if TYPE_CHECKING:
    from panel.desk.plan_jobs import TriedPlan
    from panel.questions.draws import DrawLine
    from panel.questions.lexicon import DescriptorLine
    from panel.questions.people import PersonLine

KINDS = tuple(kind.value for kind in SessionKind)
SMOKE = (BY_FLIGHTS, *(order.value for order in PeatOrder))
FIELDS = (
    Field("name", "Name", "such as Thursday 12"),
    Field("assessors", "Assessors", picks=True),
    Field("draws", "Draws", "six are a flight", picks=True),
    Field("kind", "Lines", "of the house, own words, sets, passing, trace, stages", choices=KINDS),
    Field("descriptors", "Descriptors", "ten at most, or insist; none in own words", picks=True),
    Field("held_on", "Held on", "empty: today"),
    Field("manner", "Manner", choices=("nose", "taste")),
    Field("reference", "Reference", "hidden, one in each flight; or always the first", picks=True),
    Field("duplicate", "Duplicate", "empty: the secret bits choose one", picks=True),
    Field("warm_up", "Warm-up", "declared, the same for all", picks=True),
    Field("replicates", "Replicates", "glasses of each draw, or sets each", value="1"),
    Field("nosing_abv", "Strength", "% vol; empty: as the house has it"),
    Field("pour_ml", "Pour", "mL a glass; empty: as the house has it"),
    Field("pause_s", "Pause", "s after every glass; empty: by the smokiest"),
    Field("may_go_back", "Going back", "within a flight", choices=("yes", "no")),
    Field("own_codes", "Own codes", "for each assessor", choices=("no", "yes")),
    Field("each", "Draws each", "some of them; empty: everybody gets all"),
    Field("assigned", "Who gets which", "pairs; empty: everybody gets all", picks=True),
    Field("peat", "Smoke", "where it stands in and over flights", choices=SMOKE),
    Field("after_peat", "After smoke", "the duplicate: unpeated, last", choices=("no", "yes")),
    Field("search", "Search", "times as long, for even trays", value="1"),
    Field("site", "Site"),
    Field("stages", "By stages", "scored at four stages each; tasted", picks=True),
    Field("parcel", "Parcel", "passing: the newest draw of each cask of it"),
    Field("casks", "Casks", "passing: the next of the parcel; empty: all of it"),
    Field("again", "Second nose", "passing: whose holds are nosed again, a session"),
    Field("alike_within", "Alike within", "sets: a d-prime; empty: nothing is called alike"),
    Field("stronger", "Stronger", "pairs: the draw expected to have more", picks=True),
    Field("most_words", "Most words", "own words each; empty: as the house has it"),
    Field("seed", "Seed", "a number makes it a rehearsal; else leave it empty"),
    Field("insist", "Insist", "on more than the house allows", choices=("no", "yes")),
)

OF_THE_DRAWS = ("duplicate", "stronger")
"""Fields that choose among the draws of the plan."""
SEVERAL = ("draws", "duplicate")
"""Fields of draws that take more than one."""

PEOPLE_COLUMNS: tuple[Column[PersonLine], ...] = (
    Column("Code", 12, lambda p: p.code),
    Column("Pin", 5, lambda p: "set" if p.has_pin else "none"),
    Column("Sessions", 8, lambda p: str(p.n_sessions), lambda p: p.n_sessions, right=True),
)
DRAW_COLUMNS: tuple[Column[DrawLine], ...] = (
    Column("Draw", 18, lambda d: d.label, stretch=True),
    Column("Kind", 9, lambda d: d.kind),
    Column("Cask", 10, lambda d: d.cask),
    Column("Taken on", 10, lambda d: str(d.drawn_on or ""), lambda d: d.drawn_on),
    Column("Vol%", 5, lambda d: _figure(d.abv), lambda d: d.abv, right=True),
    Column("mL", 5, lambda d: _figure(d.volume_ml, 0), lambda d: d.volume_ml, right=True),
    Column("Wood", 14, lambda d: d.wood),
)
PAIR_COLUMNS: tuple[Column[PairLine], ...] = (
    Column("Assessor", 14, lambda p: p.assessor),
    Column("Draw", 18, lambda p: p.draw, stretch=True),
)
WORD_COLUMNS: tuple[Column[DescriptorLine], ...] = (
    Column("Descriptor", 18, lambda d: d.name),
    Column("Stage", 11, lambda d: d.newest.stage),
    Column("Meaning", 20, lambda d: d.newest.meaning, stretch=True),
)


def _figure(value: float | None, digits: int = 1) -> str:
    return "" if value is None else in_digits(value, f".{digits}f")


class PlanForm(FormPage):
    """Who noses what, and how."""

    PLACE = "sessions"
    TITLE_WORDS = "Plan a session"
    FIELDS: ClassVar[tuple[Field, ...]] = FIELDS

    @dataclass
    class Read(Message):
        """People, draws and descriptors to choose from."""

        people: list[PersonLine]
        draws: list[DrawLine]
        words: list[DescriptorLine]

    @dataclass
    class Summed(Message):
        """What the plan would take, before it is kept."""

        tried: TriedPlan

    @dataclass
    class Unplannable(Message):
        """Why the plan cannot be served."""

        reasons: list[str]

    def __init__(self, values: Mapping[str, str] | None = None, said: str = "") -> None:
        super().__init__(values)
        self.said = said
        self.choices: PlanForm.Read | None = None

    def set_up(self) -> None:
        """Say like which one it is filled."""
        super().set_up()
        self.say(self.said)

    @work(thread=True, exclusive=True, group="choices", exit_on_error=False)
    def read(self) -> None:
        """Read what can be chosen."""
        from panel.questions.draws import draw_lines
        from panel.questions.lexicon import descriptor_lines
        from panel.questions.people import people_lines

        with self.desk.store.read() as db:
            today = self.desk.today()
            people = [p for p in people_lines(db) if "assessor" in p.roles and p.is_here(today)]
            words = [d for d in descriptor_lines(db) if not d.is_retired(today)]
            message = self.Read(people, draw_lines(db), words)
        self.hand_over(message)

    def on_plan_form_read(self, message: Read) -> None:
        """Keep them for the lists."""
        self.choices = message

    @on(ChoiceLine.Changed)
    @on(Input.Changed)
    def unmark(self) -> None:
        """Take away marks of what is no fault any more, as another kind wants other fields."""
        from panel.desk.plan_entry import read_plan

        marked = [line for line in self.lines if line.at_fault]
        faults = read_plan(self.values())[1] if marked else {}
        for line in marked:
            if line.field.name not in faults:
                line.show_fault(None)

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list of one field."""
        line = self.line_of(name)
        if self.choices is None or line is None:
            return None
        rows, columns, key, many = self._list(name)
        return PickPage(
            line.field.label,
            rows,
            columns,
            name_of=lambda row: str(getattr(row, key)),
            place=self.PLACE,
            many=many,
            ticked=line.entry.value.splitlines(),
        )

    def _list(self, name: str) -> tuple[Sequence[object], Sequence[Column[object]], str, bool]:
        choices = self.choices
        if choices is None:
            raise RuntimeError("nothing to choose from yet")
        if name == "assessors":
            return choices.people, PEOPLE_COLUMNS, "code", True  # type: ignore[return-value]
        if name in {"descriptors", "stages"}:
            return choices.words, WORD_COLUMNS, "name", True  # type: ignore[return-value]
        if name == "assigned":
            return pair_lines(self.values()), PAIR_COLUMNS, "pair", True  # type: ignore[return-value]
        draws = self._draws_for(name, choices.draws)
        return draws, DRAW_COLUMNS, "label", name in SEVERAL  # type: ignore[return-value]

    def _draws_for(self, name: str, draws: Sequence[DrawLine]) -> Sequence[DrawLine]:
        if name not in OF_THE_DRAWS:
            return draws
        from panel.questions.draws import no_draw, two_unseen

        chosen = self.line_of("draws")
        labels = set(chosen.entry.value.splitlines()) if chosen else set()
        besides = [two_unseen(), no_draw()] if name == "duplicate" else []
        return [*besides, *(draw for draw in draws if draw.label in labels)]

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """See what the plan takes without keeping it."""
        from panel.desk.plan_entry import read_plan
        from panel.desk.plan_jobs import try_plan
        from panel.errors import PlanRefused, WrongState

        plan, faults = read_plan(values)
        if plan is None:
            self.hand_over(self.Refused(faults))
            return
        try:
            tried = try_plan(self.desk.store, plan, now=self.desk.now(), by=self.desk.by)
        except (PlanRefused, WrongState) as refused:
            self.hand_over(self.Unplannable(str(refused).splitlines()))
            return
        self.hand_over(self.Summed(tried))

    def leave(self) -> None:
        """Go to the page of the draft; a form that plans it again was opened from there."""
        if "name" in self.given:
            super().leave()
        else:
            self.app.switch_screen(page_of("session", self.values()["name"]))

    def on_plan_form_unplannable(self, message: Unplannable) -> None:
        """Show every reason."""
        self.say("Nothing was written: the plan cannot be served as it stands.", trouble=True)
        self.app.push_screen(ReadSlip("Not planned", message.reasons))

    def on_plan_form_summed(self, message: Summed) -> None:
        """Show what it takes; keep it on a yes."""
        self.say("")

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.write(message.tried)

        self.app.push_screen(Confirm("Keep this draft?", list(message.tried.lines)), answered)

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def write(self, tried: TriedPlan) -> None:
        """Keep the draft that was agreed to; ask again where it would be another one now."""
        from panel.desk.plan_jobs import keep_plan

        changed = keep_plan(self.desk.store, tried, now=self.desk.now(), by=self.desk.by)
        if changed is not None:
            self.post_message(self.Summed(changed))
            return
        name = tried.plan.name
        news = f"Draft {name} is kept. s seals it: that fixes codes, orders and key."
        self.post_message(self.Kept(news))
