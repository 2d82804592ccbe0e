"""What each cask gave beside what it held, and what stays in it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.errors import ReleaseError
from panel.figures import in_digits, typed_number
from panel.frames.contents import Held
from panel.release.holding import HAIR_L

if TYPE_CHECKING:
    from panel.release.holding import Lying
    from panel.store.releases import Release

FAIR_SHARE = 0.9
"""A cask planned whole that gave so much of it is empty: the angels, the dregs and the gauge have
the rest; common practice, no source."""
RINSE_L = 0.5
"""Litres that a cask which gave all may hold back."""
SIZE_SLACK = 0.1
"""By so much of it a cask may be larger than its size on record, which is nominal."""


@dataclass(frozen=True)
class Given:
    """What one cask gave: litres at 20 °C and measured strength.

    `empty` is what was said of it: True, it is empty; False, the rest stays in it; None, nothing.
    """

    litres: float
    abv_percent: float
    empty: bool | None = None


NOTHING = Held(0.0, 0.0)
SAID = {"": None, "empty": True, "keeps": False}
"""What may stand after the figures of a cask: it is empty, or it keeps what it did not give."""


def read_gave(text: str) -> Given:
    """Read what a cask gave: `171.2@58.4`, `60@58.4 keeps` or `60@58.4 empty`.

    Raises
    ------
    ReleaseError
        It is not written so.
    """
    figures, _, said = text.strip().partition(" ")
    litres, _, abv = figures.partition("@")
    try:
        return Given(typed_number(litres), typed_number(abv), SAID[said.strip()])
    except (ValueError, KeyError):
        raise ReleaseError(
            f"{text!r} is not litres@strength such as 171.2@58.4, with `empty` or `keeps` after it "
            "where a rest was left"
        ) from None


def read_given(text: str) -> tuple[str, Given]:
    """Read a cask and what it gave, such as `SW1505=171.2@58.4`; raises as `read_gave` does."""
    cask, _, gave = text.rpartition("=")
    if not cask:
        raise ReleaseError(f"{text!r} is not a cask with litres@strength such as C12=171@58.4")
    return cask, read_gave(gave)


@dataclass(frozen=True)
class Planned:
    """What a cask was to give, and whether that was all it held."""

    litres: float
    whole: bool


@dataclass(frozen=True)
class CaskGave:
    """What one cask gave, beside what it held by the records.

    Attributes
    ----------
    given_litres
        What it gave.
    lying
        What lay in it; None where the records know of nothing.
    held_on_day
        Litres that it held on the day, moved there from its last gauge.
    planned
        What it was to give; None of a cask that was not planned.
    emptied
        Whether it counts as empty from now on.
    asked
        Whether somebody should say if it is empty: it was planned whole and gave much less.
    written_off
        Whether it was said to be empty although it gave much less than it held.
    """

    cask: str
    given_litres: float
    lying: Lying | None
    held_on_day: float
    planned: Planned | None
    emptied: bool
    asked: bool
    written_off: bool

    json_keys = (
        *("cask", "given_litres", "held_litres", "planned_litres", "rest_litres", "emptied"),
        *("asked", "written_off"),
    )

    @property
    def planned_litres(self) -> float | None:
        """Litres that it was to give; None of a cask that was not planned."""
        return self.planned.litres if self.planned else None

    @property
    def held_litres(self) -> float:
        """What it held by its last gauge."""
        return self.lying.state.bulk_l if self.lying else 0.0

    @property
    def rest_litres(self) -> float:
        """What stays in it on that day."""
        return 0.0 if self.emptied else max(0.0, self.held_on_day - self.given_litres)


def planned_parts(release: Release) -> dict[str, Planned]:
    """Return what each planned cask was to give; casks that came in later are not among them."""
    kept = {
        str(part["cask"]): part
        for part in json.loads(release.predicted_json or "{}").get("parts") or ()
    }
    found = {}
    for part in release.parts:
        cask = part.filling.cask.number
        left = kept.get(cask, {}).get("litres_left")
        # Once disgorged, the part itself says whether its cask was emptied.
        as_kept = release.disgorged_on is None or left is None
        if not kept or cask in kept:
            found[cask] = Planned(part.litres, part.whole if as_kept else left <= HAIR_L)
    return found


def casks_gave(
    given: Mapping[str, Given],
    planned: Mapping[str, Planned],
    lying: Mapping[str, Lying],
    held: Mapping[int, Held],
) -> tuple[CaskGave, ...]:
    """Return for each cask what it gave and whether it is empty now.

    `held` is what each filling holds on the day, by its id: a gauge of years ago has more.
    """
    return tuple(
        _gave(cask, each, planned.get(cask), lying.get(cask), held) for cask, each in given.items()
    )


def _gave(
    cask: str,
    given: Given,
    planned: Planned | None,
    lying: Lying | None,
    held: Mapping[int, Held],
) -> CaskGave:
    here = NOTHING if lying is None else held[lying.state.filling_id]
    wholly = planned is not None and planned.whole
    fair = given.litres >= here.least - RINSE_L
    if planned is not None and planned.whole:
        fair |= given.litres >= FAIR_SHARE * planned.litres
    empty = fair and given.litres > 0.0
    return CaskGave(
        cask=cask,
        given_litres=given.litres,
        lying=lying,
        held_on_day=here.litres,
        planned=planned,
        emptied=empty if given.empty is None else given.empty,
        asked=wholly and not fair and given.empty is None and given.litres > 0.0,
        written_off=given.empty is True and not fair,
    )


def impossible(gave: CaskGave) -> str | None:
    """Say so if more came out of a cask than fits into it."""
    size = gave.lying.state.size_l if gave.lying else float("inf")
    if gave.given_litres <= size * (1.0 + SIZE_SLACK):
        return None
    return (
        f"Cask {gave.cask} has a size of {in_digits(size, 'g')} L by its record: "
        f"{in_digits(gave.given_litres, 'g')} L cannot "
        "have come out of it. Correct the litres, or its size."
    )
