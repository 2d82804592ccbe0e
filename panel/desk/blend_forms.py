"""What a new blend must be, and under which name it is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import FormPage, finishing
from panel.desk.homes import page_of
from panel.desk.pick import PickPage
from panel.desk.typed import Entries, above_zero, from_one, stated_age, strength
from panel.errors import EntriesAtFault
from panel.figures import typed_number
from panel.records.acts import Act

if TYPE_CHECKING:
    from analysis.vatting import Limits
    from panel.questions.targets import TargetRecord
    from panel.release.batch import AsBatch
    from panel.release.propose import Proposal

NO_WATER = "vat"
ABOVE = "a number above zero"
WHOLE, PART = "whole", "parts"
ALLOWED, REFUSED = "flagged", "refused"


class BlendForm(FormPage):
    """Target, quantity and limits; the optimiser's choice is where blending begins."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Go on", "Look for a blend")]
    ONLY_ASKS = True
    PLACE = "releases"
    TITLE_WORDS = "A new blend"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("target", "Target", picks=True),
        Field("bottles", "Bottles", "such as 1200, or litres below"),
        Field("litres", "Litres", "at bottling strength"),
        Field("over", "At most over", "percent; 3 whole, 1 parts"),
        Field("abv", "Strength", "% vol; vat: no water", value="46"),
        Field("age", "Age statement", "whole years, or empty"),
        Field("casks", "Casks", "such as 3-12, or empty"),
        Field("drawing", "Casks go in", choices=(WHOLE, PART)),
        Field("with", "Must be in", "such as SW1505, SW1807"),
        Field("without", "Must not be in", "the same way"),
        Field("share", "A share", "wood=European oak butt:0.3"),
        Field("gauges", "Old regauges", choices=(REFUSED, ALLOWED)),
        Field("as_batch", "Like the batch", "its lot or release, or empty"),
        Field("recipe", "Recipe within", "percent, or any", value="10"),
    )

    @dataclass
    class Ready(Message):
        """What is asked makes sense."""

        target: str
        limits: Limits
        batch: AsBatch | None

    @dataclass
    class Read(Message):
        """The targets have been read."""

        targets: list[TargetRecord]

    def __init__(self, values: Mapping[str, str] | None = None) -> None:
        super().__init__(values)
        self.targets: list[TargetRecord] | None = None

    @work(thread=True, exclusive=True, group="targets", exit_on_error=False)
    def read(self) -> None:
        """Read the targets to choose from."""
        from panel.questions.targets import target_records

        with self.desk.store.read() as db:
            targets = target_records(db)
        self.hand_over(self.Read(targets))

    def on_blend_form_read(self, message: Read) -> None:
        """Keep them for the list."""
        self.targets = message.targets

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list of targets."""
        from panel.desk.targets import list_of_targets

        return None if self.targets is None else list_of_targets(self.targets, "releases")

    def keep(self, values: dict[str, str]) -> None:
        """Read what is asked; nothing is written."""
        typed = Entries(values)
        target = typed.needed("target", "choose one")
        try:
            batch = read_batch(typed)
            limits = read_limits(typed)
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
        else:
            self.post_message(self.Ready(target, limits, batch))

    def on_blend_form_ready(self, message: Ready) -> None:
        """Go to the bench of shares."""
        self.app.switch_screen(page_of("blend", message.target, message.limits, message.batch))


ANY = "any"


def read_batch(typed: Entries) -> AsBatch | None:
    """Return the batch that a new one is to be like; a fault of its fields is noted."""
    from panel.release.batch import AsBatch

    lot, recipe = typed.values.get("as_batch"), typed.values.get("recipe", ANY)
    if lot is None:
        return None
    if recipe == ANY:
        return AsBatch(lot, None, None)
    within = typed.read("recipe", percent, "0 to 100, or any")
    return AsBatch(lot, None, None if within is None else within / 100.0)


def percent(text: str) -> float:
    """Return a percentage.

    Raises
    ------
    ValueError
        It is none.
    """
    value = typed_number(text)
    if not 0.0 <= value <= WHOLE_PERCENT:
        raise ValueError(text)
    return value


WHOLE_PERCENT = 100.0


def read_limits(typed: Entries) -> Limits:
    """Return the limits that were typed.

    Raises
    ------
    EntriesAtFault
        Something is not right or not there, by field.
    """
    from panel.questions import vat_limits
    from panel.records.share_text import read_range, read_share

    values = typed.values
    if ("bottles" in values) == ("litres" in values):
        typed.faults["bottles"] = "give bottles or litres, one of the two"
    litres, over = (typed.read(name, above_zero, ABOVE) for name in ("litres", "over"))
    bottles = typed.read("bottles", from_one, "a whole number from 1 up")
    age = typed.read("age", stated_age, "whole years")
    abv: float | None = None
    if values.get("abv") != NO_WATER:
        abv = (
            typed.read("abv", strength, "% vol above 0, up to 100, or vat")
            or vat_limits.ABV_PERCENT
        )
    typed.read("casks", read_range, "a range")
    typed.read("share", read_share, "a share")
    typed.settle()
    return vat_limits.read_limits(
        bottles=bottles,
        litres=litres,
        over_percent=over,
        abv_percent=abv,
        age=age,
        casks=values.get("casks"),
        shares=[values["share"]] if "share" in values else [],
        include=_names(values, "with"),
        exclude=_names(values, "without"),
        whole=values.get("drawing") != PART,
        old_gauges="flag" if values.get("gauges") == ALLOWED else "refuse",
    )


def _names(values: Mapping[str, str], field: str) -> tuple[str, ...]:
    """Return the casks of a field, each once."""
    typed = (name.strip() for name in values.get(field, "").split(","))
    return tuple(dict.fromkeys(name for name in typed if name))


class KeepForm(DeedForm):
    """Name and reason; keeping it reserves the casks."""

    PLACE = "releases"
    ACT = Act.PROPOSE
    TITLE_WORDS = "Keep as a release: its casks are reserved"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("name", "Name", "such as Spring 2027"),
        Field("reason", "Why", wide=True),
    )

    def __init__(self, proposal: Proposal, batch: AsBatch | None = None) -> None:
        super().__init__()
        self.proposal = proposal
        self.like = batch

    def look(self, values: dict[str, str]) -> None:
        """See that it has a name."""
        typed = Entries(values)
        typed.needed("name", "give it a name")
        typed.settle()

    def do(self, values: dict[str, str]) -> str:
        """Reserve the casks."""
        from dataclasses import replace

        from panel.release.batch_steps import against_target, keep_batch
        from panel.release.propose import propose

        desk, name, batch = self.desk, values["name"], self.like
        proposal = replace(self.proposal, reason=values.get("reason"))
        if batch is not None:
            with self.reckoning(), desk.store.read() as db:
                proposal = against_target(db, proposal, as_of=desk.today())
        with writing(desk.store) as db:
            propose(db, name, proposal, as_of=desk.today(), now=desk.now(), by=desk.by)
            if batch is not None:
                keep_batch(db, name, batch)
        return f"Release {name} is proposed, its casks reserved."

    def leave(self) -> None:
        """Go back to the list, past the blend."""
        self.app.pop_screen()
        self.app.pop_screen()
