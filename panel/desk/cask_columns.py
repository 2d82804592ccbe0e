"""What the list of casks shows of each, and what a typed word is looked for in."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panel.desk.columns import Column
from panel.figures import in_digits, tenths
from panel.questions.cask_narrowing import Flag, flags_of
from panel.words.cask_words import age_figure, make_word

if TYPE_CHECKING:
    from panel.questions.cask_life import CaskLine
    from panel.store.filling_states import FillingState

SHOWN_AS = {
    Flag.LEAK: "leaking",
    Flag.HOLD: "on hold",
    Flag.GAUGE: "old gauge",
    Flag.NEVER: "ungauged",
    Flag.STRENGTH: "low %",
}
"""Short enough for a column; the states among them by the words of all pages."""
SAID_BY_FLAGS = ("filled", "leaking", "on hold")


def words_of(line: CaskLine) -> str:
    """Return what a typed word is looked for in."""
    state = line.state
    if state is None:
        return f"{line.number} {line.wood} empty"
    place = state.place.words()
    told = (state.make, state.parcel, state.owner)
    flags = " ".join(flags_of(line))
    named = " ".join(part for part in told if part)
    return f"{line.number} {line.wood} {named} {place} {line.status} {flags}"


def shed(line: CaskLine) -> str:
    """Return where in its site a cask lies."""
    place = line.state.place if line.state else None
    return "" if place is None else replace(place, site=None).words()


def state_word(line: CaskLine) -> str:
    """Return how a cask stands: its state, unless its flags say as much, then the flags."""
    flags = flags_of(line)
    if not flags:
        return line.status
    told = [] if line.status in SAID_BY_FLAGS else [line.status]
    return ", ".join([*told, *(SHOWN_AS[flag] for flag in flags)])


def _gauge_age(state: FillingState) -> str:
    return "never" if state.never_gauged else in_digits(state.gauge_age_years, ".1f")


COLUMNS: tuple[Column[CaskLine], ...] = (
    Column("Cask", 12, lambda c: c.number),
    Column("Wood", 20, lambda c: c.wood),
    Column(
        "Age",
        5,
        lambda c: age_figure(c.state.age_years) if c.state else "",
        lambda c: c.state.age_years if c.state else None,
        right=True,
    ),
    Column(
        "Litres",
        6,
        lambda c: f"{c.state.bulk_l:.0f}" if c.state else "",
        lambda c: c.state.bulk_l if c.state else None,
        right=True,
    ),
    Column(
        "Vol%",
        5,
        lambda c: tenths(c.state.abv) if c.state else "",
        lambda c: c.state.abv if c.state else None,
        right=True,
    ),
    Column("State", 17, state_word),
    Column("Place", 20, shed),
    Column("Make", 14, lambda c: make_word(c.state) if c.state else ""),
    Column("In site", 12, lambda c: (c.state.place.site or "") if c.state else ""),
    Column("Name of parcel", 14, lambda c: (c.state.parcel or "") if c.state else ""),
    Column("Owner", 12, lambda c: (c.state.owner or "") if c.state else ""),
    Column(
        "Gauge y",
        7,
        lambda c: _gauge_age(c.state) if c.state else "",
        lambda c: c.state.gauge_age_years if c.state else None,
        right=True,
    ),
    Column(
        "Fill",
        4,
        lambda c: f"{c.state.fill_number}" if c.state else "",
        lambda c: c.state.fill_number if c.state else None,
        right=True,
    ),
    Column("Before", 12, lambda c: (c.state.previous or "") if c.state else "", stretch=True),
)
