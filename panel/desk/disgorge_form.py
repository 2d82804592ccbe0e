"""What each cask of a release really gave, typed at the desk."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from panel.desk.acting import writing
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.slip import ReadSlip
from panel.desk.typed import DAY_HINT, Entries, any_number
from panel.errors import EntriesAtFault
from panel.figures import in_digits
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.release.given import Given

WIDE = 70
"""Letters a line of what is laid over the list."""
OTHERS = "such as SW1505=171.2@58.4"
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


class DisgorgeForm(DeedForm):
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
                    f"planned {in_digits(part['litres'], '.1f')} L; or 60@58.4 keeps",
                    value=_gave(part),
                )
                for part in self.parts
                if part["planned"]
            ),
            Field("others", "Other casks", OTHERS, value=" ".join(others)),
            *VAT,
            Field("on", "Day", DAY_HINT, value=str(self.desk.today())),
        )

    def set_up(self) -> None:
        """Say which release."""
        super().set_up()
        self.head(fact=self.release)

    def look(self, values: dict[str, str]) -> Disgorged:
        """Return what was typed."""
        return read_disgorged(values, [part["cask"] for part in self.parts if part["planned"]])

    def do(self, values: dict[str, str]) -> str:
        """Check, reckon and keep it."""
        from analysis.errors import AnalysisError

        try:
            self.lines_after = self._disgorged(self.look(values))
        except AnalysisError as error:
            raise EntriesAtFault({"": str(error)}) from error
        return f"Release {self.release} is disgorged; not signed yet."

    def _disgorged(self, typed: Disgorged) -> list[str]:
        """Keep it, and return what it comes to, with what was nosed of its bench blend."""
        from panel.questions.profile import house_profile
        from panel.release.benched import nosed_blend
        from panel.release.disgorging import check_disgorging, disgorge
        from panel.words.benched_words import benched_lines
        from panel.words.release import outcome_lines

        desk, name, now = self.desk, self.release, self.desk.now()
        # The reckoning takes seconds: no booth waits for it.
        with self.reckoning(), desk.store.read() as db:
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


def read_disgorged(values: Mapping[str, str], casks: Sequence[str]) -> Disgorged:
    """Return what was typed.

    Raises
    ------
    EntriesAtFault
        Something is not right or not there, by field.
    """
    from panel.release.given import read_gave, read_given

    typed = Entries(values)
    others = typed.read("others", lambda text: dict(map(read_given, text.split())), OTHERS)
    given = others or {}
    for cask in casks:
        typed.needed(GAVE + cask, "say what it gave, 0@strength if nothing")
        each = typed.read(GAVE + cask, read_gave, "litres@strength")
        if each is not None:
            given[cask] = each
    on = typed.needed_day("on")
    vat = {name: typed.read(name, any_number, "a number") for name in ("vat_litres", "vat_abv")}
    typed.settle()
    return Disgorged(given, on, vat)
