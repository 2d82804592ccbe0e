"""What the panel found of a cask, taken out of the profile as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING, Any

from panel.words.profile_words import FORETOLD, NEVER_NOSED

if TYPE_CHECKING:
    import pandas as pd

    from analysis.profile import Profile
    from panel.questions.targets import TargetRecord

TWICE = 2.0
"""Standard errors to either side of a bar: about 19 times in 20."""


@dataclass(frozen=True)
class Band:
    """A place on the 0-100 line and how far from it one has to reckon."""

    value: float
    half: float

    @property
    def low(self) -> float:
        """The lower end, perhaps below the line."""
        return self.value - self.half

    @property
    def high(self) -> float:
        """The upper end, perhaps above the line."""
        return self.value + self.half

    def meets(self, other: Band) -> bool:
        """Tell whether two bands have a stretch in common."""
        return self.low <= other.high and other.low <= self.high

    def words(self) -> str:
        """Return value and reach in whole points."""
        return f"{self.value:.0f} ±{self.half:.0f}"


@dataclass(frozen=True)
class Found:
    """One descriptor of one draw; `band` is missing where nothing could be estimated."""

    descriptor: str
    band: Band | None
    n_scores: int
    last_nosed: str
    reason: str


@dataclass(frozen=True)
class FoundDraw:
    """A draw that was nosed, with what was found; or a filling that nobody nosed, foretold."""

    sample: str
    cask: str
    drawn_on: str
    found: tuple[Found, ...]
    foretold: bool = False

    @property
    def about(self) -> str:
        """What it is, in words."""
        if self.foretold:
            return f"{self.sample}: {self.unnosed}"
        return f"{self.sample}, drawn {self.drawn_on or 'on a day not recorded'}"

    @property
    def unnosed(self) -> str:
        """What is said of a filling that nobody nosed."""
        told = any(one.band is not None for one in self.found)
        return NEVER_NOSED if told else "never nosed, and it cannot be foretold"

    def band(self, descriptor: str) -> Band | None:
        """Return where a descriptor lies."""
        return next((one.band for one in self.found if one.descriptor == descriptor), None)


def draws_of(profile: Profile, cask: str | None = None) -> list[FoundDraw]:
    """Return the nosed draws of a cask, or of all casks, the newest first."""
    rows = profile.estimates
    return draws_in(rows[rows["cask"].notna()] if cask is None else rows[rows["cask"] == cask])


def draws_in(rows: pd.DataFrame) -> list[FoundDraw]:
    """Return the draws in some rows of a profile, foretold ones and then the newest first."""
    draws = [_draw(str(sample), part) for sample, part in rows.groupby("sample", sort=True)]
    return sorted(draws, key=lambda draw: (draw.foretold, draw.drawn_on), reverse=True)


def _draw(sample: str, rows: pd.DataFrame) -> FoundDraw:
    first = rows.iloc[0]
    found = sorted(map(_found, rows.to_dict("records")), key=lambda one: one.descriptor)
    return FoundDraw(
        sample,
        str(first["cask"]),
        _day(first["drawn_on"]),
        tuple(found),
        foretold=first["kind"] == FORETOLD,
    )


def _found(row: dict[Any, Any]) -> Found:
    known = _number(row["estimate"]) is not None and _number(row["se"]) is not None
    return Found(
        descriptor=str(row["descriptor"]),
        band=Band(float(row["estimate"]), TWICE * float(row["se"])) if known else None,
        n_scores=int(row["n_scores"]),
        last_nosed=_day(row["last_nosed"]),
        reason=row["reason"] if isinstance(row["reason"], str) else "",
    )


def _number(value: Any) -> float | None:
    return None if value is None or isnan(value) else float(value)


def _day(value: Any) -> str:
    text = "" if value is None else str(value)[:10]
    return "" if text in {"NaT", "nan", "None"} else text


def target_draw(target: TargetRecord) -> FoundDraw:
    """Return a target as if it were a draw: aims, and the tolerance to either side."""
    found = tuple(
        Found(line.descriptor, Band(line.aim, line.tolerance), 0, "", "") for line in target.lines
    )
    return FoundDraw(target.name, "", "", found)
