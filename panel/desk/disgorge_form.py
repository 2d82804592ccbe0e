"""What each cask of a release really gave, typed at the desk."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, TypeVar

from textual import work

from panel.desk.acting import writing
from panel.desk.entries import Field
from panel.desk.form import FormPage
from panel.desk.slip import ReadSlip
from panel.errors import OakpanelError
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.release.given import Given

Read = TypeVar("Read")
WIDE = 70
"""Letters a line of what is laid over the list."""
GAVE = "gave "
"""How the field of a cask is named, before its number."""
VAT = (
    Field("vat_litres", "The vat, L", "as measured, at 20 °C; may be empty"),
    Field("vat_abv", "The vat, % vol", "as measured; may be empty"),
)


@dataclass(frozen=True)
class Disgorged:
    """What was typed, read."""

    given: dict[str, Given]
    on: date
    vat: dict[str, float | None]


class DisgorgeForm(FormPage):
    """Litres and strength of each cask; `empty` or `keeps` after them settles a rest."""

    PLACE = "releases"
    ACT = Act.DISGORGE
    TITLE_WORDS = "As disgorged: litres@strength of each cask, at 20 °C"

    def __init__(self, name: str, parts: Sequence[Mapping[str, Any]]) -> None:
        super().__init__()
        self.release, self.parts = name, parts
        self.lines_after: list[str] = []

    def fields(self) -> Sequence[Field]:
        """Return a field for each cask, then vat and day, with what was kept before."""
        others = [f"{p['cask']}={_gave(p)}" for p in self.parts if not p["planned"]]
        return (
            *(
                Field(
                    GAVE + part["cask"],
                    part["cask"],
                    f"planned {part['litres']:.1f} L; or 60@58.4 keeps",
                    value=_gave(part),
                )
                for part in self.parts
                if part["planned"]
            ),
            Field("others", "Other casks", "such as SW1505=171.2@58.4", value=" ".join(others)),
            *VAT,
            Field("on", "Day", "such as 2026-11-25", value=str(self.desk.today())),
        )

    def set_up(self) -> None:
        """Say which release."""
        super().set_up()
        self.head(fact=self.release)

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Check, reckon and keep it."""
        from analysis.errors import AnalysisError

        faults: dict[str, str] = {}
        planned = [part["cask"] for part in self.parts if part["planned"]]
        typed = read_disgorged(values, planned, faults)
        if typed is None:
            self.hand_over(self.Refused(faults))
            return
        try:
            self.lines_after = self._disgorged(typed)
        except (OakpanelError, AnalysisError) as error:
            self.hand_over(self.Refused({"": str(error)}))
            return
        self.post_message(self.Kept(f"Release {self.release} is disgorged; not signed yet."))

    def _disgorged(self, typed: Disgorged) -> list[str]:
        """Keep it, and return what it comes to, with what was nosed of its bench blend."""
        from panel.questions.profile import house_profile
        from panel.release.benched import nosed_blend
        from panel.release.disgorging import check_disgorging, disgorge
        from panel.words.benched_words import benched_lines
        from panel.words.release import outcome_lines

        desk, name, now = self.desk, self.release, self.desk.now()
        with desk.store.read() as db:  # the reckoning takes seconds: no booth waits for it
            check_disgorging(db, name, typed.given, on=typed.on, now=now, **typed.vat)
            profile = house_profile(db, as_of=typed.on)
        with writing(desk.store) as db:
            outcome = disgorge(
                db,
                name,
                typed.given,
                on=typed.on,
                now=now,
                by=desk.by,
                profile=profile,
                **typed.vat,
            )
            nosed = nosed_blend(db, name, as_of=typed.on, profile=profile)
        return [*outcome_lines(name, outcome, WIDE), *benched_lines(nosed, WIDE)]

    def leave(self) -> None:
        """Go back to the list, and lay over it what the casks come to."""
        app, slip = self.app, ReadSlip(self.release, self.lines_after)
        super().leave()
        app.push_screen(slip)


def _gave(part: Mapping[str, Any]) -> str:
    """What a cask gave, as it is typed; nothing before anybody said so."""
    litres, abv = part["given_litres"], part["given_abv_percent"]
    return "" if litres is None else f"{litres:g}@{abv:g}"


def read_disgorged(
    values: Mapping[str, str], casks: Sequence[str], faults: dict[str, str]
) -> Disgorged | None:
    """Return what was typed; what is not right goes into *faults* by field."""
    from panel.release.given import read_gave, read_given

    given = _read(values, "others", lambda text: dict(map(read_given, text.split())), faults) or {}
    for cask in casks:
        each = _read(values, GAVE + cask, read_gave, faults)
        if each is not None:
            given[cask] = each
        elif GAVE + cask not in values:
            faults[GAVE + cask] = "say what it gave, 0@strength if nothing"
    on = _read(values, "on", date.fromisoformat, faults)
    if "on" not in values:
        faults["on"] = "give the day"
    vat = {name: _read(values, name, float, faults) for name in ("vat_litres", "vat_abv")}
    return None if faults or on is None else Disgorged(given, on, vat)


def _read(
    values: Mapping[str, str], name: str, reader: Callable[[str], Read], faults: dict[str, str]
) -> Read | None:
    try:
        return reader(values[name]) if name in values else None
    except OakpanelError as error:
        faults[name] = str(error)
    except ValueError:
        faults[name] = f"{values[name]!r} cannot be read"
    return None
