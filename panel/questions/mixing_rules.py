"""How notes mix in this house: as bench blends have taught, else what is supplied."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import UnknownRecord
from panel.store.lexicon import Descriptor
from panel.store.mixing_notes import MixingNote

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.vatting import MixingRule

POTENT_WORDS = ("smoke", "smoky", "peat", "sulphur", "solvent", "struck match")
"""Notes that a little goes a long way with: they mix with exponent 0.5 until set otherwise."""


def supplied_exponents(db: Session) -> dict[str, float]:
    """Return the exponent of every potent note as long as nobody knows better."""
    from analysis.vatting.mixing import POTENT_EXPONENT

    meanings = {
        each.name: " ".join([each.name, *(v.meaning or "" for v in each.versions[-1:])]).lower()
        for each in db.scalars(select(Descriptor).order_by(Descriptor.name))
    }
    potent = [name for name in meanings if any(word in meanings[name] for word in POTENT_WORDS)]
    return dict.fromkeys(potent, POTENT_EXPONENT)


def mixing_rule(db: Session, exponents: Mapping[str, float] | None = None) -> MixingRule:
    """Return how notes mix here: as kept from bench blends, else 0.5 for potent notes, else 1.

    Raises
    ------
    UnknownRecord
        An exponent is given for a note that the lexicon has not.
    """
    from analysis.vatting import MixingRule

    names = list(db.scalars(select(Descriptor.name).order_by(Descriptor.name)))
    unknown = [name for name in exponents or () if name not in names]
    if unknown:
        raise UnknownRecord(
            f"There is no note {unknown[0]!r} to set an exponent for. There are: "
            f"{', '.join(names)}."
        )
    found = supplied_exponents(db)
    gains, off = {}, {}
    for note in db.scalars(select(MixingNote)):
        found[note.descriptor.name] = note.exponent
        gains[note.descriptor.name] = note.gain
        off[note.descriptor.name] = note.panel_sd or 0.0
    return MixingRule({**found, **(exponents or {})}, gains, bench_sd=off)
