"""What a new blend must be, and under which name it is kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.columns import Column
from panel.desk.entries import Field
from panel.desk.form import FormPage
from panel.desk.homes import page_of
from panel.desk.pick import PickPage
from panel.errors import OakpanelError
from panel.records.acts import Act

if TYPE_CHECKING:
    from analysis.vatting import Limits
    from panel.questions.targets import TargetRecord
    from panel.release.propose import Proposal

WHOLE, PART = "whole", "parts"
ALLOWED, REFUSED = "flagged", "refused"


class BlendForm(FormPage):
    """Target, quantity and limits; the optimiser's choice is where blending begins."""

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
    )

    @dataclass
    class Ready(Message):
        """What is asked makes sense."""

        target: str
        limits: Limits

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
        from panel.desk.targets import aims

        if self.targets is None:
            return None
        columns: tuple[Column[TargetRecord], ...] = (
            Column("Target", 20, lambda t: t.name),
            Column("Aims", 30, aims, stretch=True),
        )
        return PickPage(
            "For which target?",
            self.targets,
            columns,
            name_of=lambda t: t.name,
            place="releases",
            many=False,
        )

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Check what was typed."""
        faults: dict[str, str] = {}
        limits = read_limits(values, faults)
        if "target" not in values:
            faults["target"] = "choose one"
        if faults or limits is None:
            self.hand_over(self.Refused(faults))
        else:
            self.hand_over(self.Ready(values["target"], limits))

    def on_blend_form_ready(self, message: Ready) -> None:
        """Go to the bench of shares."""
        self.app.switch_screen(page_of("blend", message.target, message.limits))


def read_limits(values: Mapping[str, str], faults: dict[str, str]) -> Limits | None:
    """Return the limits that were typed; what is not right goes into *faults* by field."""
    from panel.questions import vat_limits

    if ("bottles" in values) == ("litres" in values):
        faults["bottles"] = "give bottles or litres, one of the two"
    bottles = _number(values, "bottles", faults)
    litres = _number(values, "litres", faults)
    over = _number(values, "over", faults)
    no_water = values.get("abv") == "vat"
    abv = None if no_water else _number({"abv": "46", **values}, "abv", faults)
    age = _number(values, "age", faults)
    _read(values, "casks", vat_limits.read_range, faults)
    _read(values, "share", vat_limits.read_share, faults)
    if faults:
        return None
    return vat_limits.read_limits(
        bottles=None if bottles is None else int(bottles),
        litres=litres,
        over_percent=over,
        abv_percent=abv,
        age=None if age is None else int(age),
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


def _read(
    values: Mapping[str, str],
    name: str,
    reader: Callable[[str], object],
    faults: dict[str, str],
) -> None:
    """Put what *reader* has against a field beside it."""
    try:
        if name in values:
            reader(values[name])
    except OakpanelError as error:
        faults[name] = str(error)


def _number(values: Mapping[str, str], name: str, faults: dict[str, str]) -> float | None:
    text = values.get(name)
    if text is None:
        return None
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0.0 < number < 1e7:
        faults[name] = f"{text!r} is not a number above zero"
        return None
    return number


class KeepForm(FormPage):
    """Name and reason; keeping it reserves the casks."""

    PLACE = "releases"
    ACT = Act.PROPOSE
    TITLE_WORDS = "Keep as a release: its casks are reserved"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("name", "Name", "such as Spring 2027"),
        Field("reason", "Why", wide=True),
    )

    def __init__(self, proposal: Proposal) -> None:
        super().__init__()
        self.proposal = proposal

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Reserve the casks."""
        from dataclasses import replace

        from panel.release.propose import propose

        if "name" not in values:
            self.hand_over(self.Refused({"name": "give it a name"}))
            return
        desk = self.desk
        proposal = replace(self.proposal, reason=values.get("reason"))
        try:
            with writing(desk.store) as db:
                propose(
                    db, values["name"], proposal, as_of=desk.today(), now=desk.now(), by=desk.by
                )
        except OakpanelError as error:
            self.hand_over(self.Refused({"": str(error)}))
            return
        self.post_message(self.Kept(f"Release {values['name']} is proposed, its casks reserved."))

    def leave(self) -> None:
        """Go back to the list, past the blend."""
        self.app.pop_screen()
        self.app.pop_screen()
