"""Which notes of something nosed make the lines of a target that other casks can be held to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from panel.records.targets import LeftNote, Likeness, WhyLeft

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.target import NoteReach


def house_note_reach(db: Session, profile: Profile, as_of: date) -> Mapping[str, NoteReach]:
    """Return of how many of the house's casks each note is known."""
    from analysis.target import note_reach
    from panel.frames import casks_frame

    return note_reach(profile, casks_frame(db, as_of))


def of_sample(
    rows: Any, source: str, reach: Mapping[str, NoteReach], own: Sequence[str] = ()
) -> Likeness:
    """Return what was found in one sample, on the notes that a target can ask of the stock.

    Parameters
    ----------
    rows
        The rows of the sample in the estimates of a profile.
    source
        What it is, in words.
    reach
        Of how many casks each note is known.
    own
        Lines of the target that it was made for; without them, or where none of them was scored,
        the notes that at least half of the nosed casks have. Where no note is as common as that,
        all count.
    """
    found = dict(zip(rows["descriptor"], map(float, rows["estimate"]), strict=True))
    part = dict(zip(rows["descriptor"], map(int, rows["component"]), strict=True))
    apart = {name for name in found if name in reach and part[name] > 0}
    held_to = [name for name in own if name in found and name not in apart]
    common = [name for name in found if name not in apart and _is_common(reach, name)]
    kept = set(held_to or common) or set(found)
    left = {name: WhyLeft.NOT_ITS_OWN if held_to else WhyLeft.FEW for name in found}
    left |= dict.fromkeys(apart, WhyLeft.APART)
    left |= {name: WhyLeft.UNSCORED for name in own if held_to and name not in found}
    aims = {name: aim for name, aim in found.items() if name in kept}
    out = {name: why for name, why in left.items() if name not in kept}
    return Likeness(source, aims, {}, {}, tuple(_left(out, found, reach)))


def _is_common(reach: Mapping[str, NoteReach], name: str) -> bool:
    return name in reach and reach[name].is_common


def _left(
    out: Mapping[str, WhyLeft], found: Mapping[str, float], reach: Mapping[str, NoteReach]
) -> Iterator[LeftNote]:
    for name, why in out.items():
        n_casks = reach[name].n_casks if name in reach else 0
        n_nosed = max((each.n_nosed for each in reach.values()), default=0)
        yield LeftNote(name, why, found.get(name), n_casks, n_nosed)


def brought_in(like: Likeness, names: Sequence[str]) -> Likeness:
    """Return the likeness with the notes that were named, although they had been left out."""
    asked = {each.descriptor: each.aim for each in like.left_out if each.descriptor in names}
    more = {name: aim for name, aim in asked.items() if aim is not None}
    rest = tuple(each for each in like.left_out if each.descriptor not in more)
    return replace(like, aims={**like.aims, **more}, left_out=rest)
