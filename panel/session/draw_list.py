"""Which casks are drawn for a session, in the order in which somebody walks: by shed, row and tier.

It tells no code. Of every cask the same is drawn, as much as the one that takes the most: else the
list would tell which is poured twice. A sample that stands on the shelf, still tells what is in its
cask and holds as much is listed apart: nobody walks for it. Of one that does not do it is said
what stands there and what it lacks; what is drawn beside it is a sample of its own, under the next
label.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import groupby
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.session.blueprint import blueprint_of
from panel.session.on_shelf import OnShelf, Standing, drawn_before, shelf_or_why
from panel.session.paper import columns, paragraph, printable, rule
from panel.session.pours import pour_needs
from panel.store.casks import Cask, Filling
from panel.store.draw_labels import proposed_draws
from panel.store.draws import Draw
from panel.store.filling_states import filling_states
from panel.store.finding import find_session
from panel.store.house import number_setting, today_at_site
from panel.store.planted import planted_among

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.session.blueprint import Blueprint
    from panel.session.pours import PourNeed
    from panel.store.filling_states import FillingState

WALKING = (
    "Not alone: a second person stays in sight and within call.",
    "No climbing on casks or racks: what cannot be reached from the floor or a safe platform is "
    "not drawn.",
    "No telephone, torch or tool at an open bung that is not rated for explosive vapour; no flame.",
    "Sheds hold heavy vapour and may lack air: who enters, and how, is for the rules of your house "
    "and place, never for this list.",
    "Drawn spirit may be under duty: label it, and enter it in the register.",
)
NO_PLACE = "place not on record"
ROUND_ML = 10
_STEP_BY_STEP = re.compile(r"[0-9]+|[^0-9]+")


@dataclass(frozen=True)
class CaskToDraw:
    """One cask of the list, where it lies, and minutes for it; a higher tier takes longer."""

    site: str
    warehouse: str
    row: str
    tier: str
    cask: str
    sample: str
    millilitres: int | None
    minutes: float
    standing: Standing | None = None
    """The sample of that name, where it was drawn before."""

    @property
    def goes_under(self) -> str:
        """Under which label the new spirit goes."""
        return self.standing.new_sample if self.standing else self.sample


@dataclass(frozen=True)
class DrawList:
    """Casks in walking order; `sheds` has the minutes of each, with the way there.

    `on_shelf` is what nobody has to draw.
    """

    session: str
    casks: tuple[CaskToDraw, ...]
    sheds: tuple[tuple[str, float], ...]
    minutes: float
    on_shelf: tuple[OnShelf, ...] = ()

    def lines(self) -> list[str]:
        """Return the list as it is printed."""
        return list(_lines(self))


def walked(place: str | None) -> list[tuple[int, int, str]]:
    """Return what sorts places as somebody walks: row 10 comes behind row 9."""
    return [
        (0, int(part), "") if part.isdecimal() else (1, 0, part)
        for part in _STEP_BY_STEP.findall(place or "")
    ]


def draw_list(db: Session, name: str, *, now: datetime) -> DrawList:
    """Return which casks are drawn for a session, in walking order.

    Raises
    ------
    UnknownRecord
        There is no session of that name, or it was loaded from a file and has no plan.
    """
    session = find_session(db, name)
    plan = blueprint_of(db, session)
    planted = planted_among(db, [row.draw_id for row in plan.planned])
    ids = [row.draw_id for row in plan.planned if row.draw_id not in planted]
    asked = (
        select(Draw, Filling, Cask)
        .join(Filling, Filling.id == Draw.filling_id)
        .join(Cask, Cask.id == Filling.cask_id)
        .where(Draw.id.in_(ids))
    )
    found = {filling.id: (draw, cask) for draw, filling, cask in db.execute(asked)}
    casks = sorted({cask.number for _, cask in found.values()})
    told = filling_states(db, today_at_site(db, now), only_casks=casks) if casks else []
    states = {state.filling_id: state for state in told}
    needs = _needs_ml(pour_needs(db, plan), {draw.label for draw, _ in found.values()})
    judged = {
        filling_id: shelf_or_why(db, plan, draw, cask.number, states.get(filling_id), needs)
        for filling_id, (draw, cask) in found.items()
    }
    shelf = {key: each for key, each in judged.items() if isinstance(each, OnShelf)}
    most = -(-round(max(needs)) // ROUND_ML) * ROUND_ML if needs else None
    per_cask, per_tier = (number_setting(db, s) for s in ("draw_cask_min", "draw_tier_min"))
    lines = [
        _line(draw, cask.number, states.get(filling_id), most, per_cask, per_tier)
        for filling_id, (draw, cask) in found.items()
        if filling_id not in shelf
    ]
    why = {found[key][0].label: each for key, each in judged.items() if isinstance(each, str)}
    draws = {draw.label: draw for draw, _ in found.values()}
    lines = _with_standing(db, plan, lines, draws, why, today_at_site(db, now))
    walk = _in_order(name, lines, number_setting(db, "draw_shed_min"))
    return replace(walk, on_shelf=tuple(sorted(shelf.values(), key=lambda each: each.cask)))


def _needs_ml(needs: Sequence[PourNeed], walked_for: Collection[str]) -> list[float]:
    """Return how much each draw of a cask takes; what is planted beside them asks nothing of it."""
    found: dict[str, float] = {}
    for need in needs:
        if need.draw in walked_for and need.draw_ml is not None:
            found[need.draw] = found.get(need.draw, 0.0) + need.draw_ml
    return list(found.values())


def _with_standing(
    db: Session,
    plan: Blueprint,
    lines: Sequence[CaskToDraw],
    draws: Mapping[str, Draw],
    why: Mapping[str, str],
    today: date,
) -> list[CaskToDraw]:
    """Say of each sample that was drawn before why it does not do, and what the next is called.

    One of today without a volume is the very draw that somebody walks for now.
    """
    before = [line for line in lines if drawn_before(plan, draws[line.sample], today)]
    if not before:
        return list(lines)
    labels = {
        each.cask: each.label for each in proposed_draws(db, [line.cask for line in before], today)
    }
    return [
        replace(
            line,
            standing=Standing(
                plan.liquids[draws[line.sample].id].volume.left_ml,
                why[line.sample],
                labels[line.cask],
            ),
        )
        if line in before
        else line
        for line in lines
    ]


def _line(
    draw: Draw,
    cask: str,
    state: FillingState | None,
    ml: int | None,
    per_cask: float,
    per_tier: float,
) -> CaskToDraw:
    place = state.place if state else None
    tier = (place.tier if place else None) or ""
    above = max(0, int(tier) - 1) if tier.isdecimal() else 0
    return CaskToDraw(
        site=(place.site if place else None) or "",
        warehouse=(place.warehouse if place else None) or NO_PLACE,
        row=(place.row if place else None) or "",
        tier=tier,
        cask=cask,
        sample=draw.label,
        millilitres=ml,
        minutes=per_cask + above * per_tier,
    )


def _in_order(name: str, lines: Sequence[CaskToDraw], per_shed: float) -> DrawList:
    ordered = sorted(
        lines,
        key=lambda at: (at.site, walked(at.warehouse), walked(at.row), walked(at.tier), at.cask),
    )
    sheds = tuple(
        (shed, per_shed + sum(line.minutes for line in mine))
        for shed, mine in groupby(ordered, key=shed_of)
    )
    return DrawList(name, tuple(ordered), sheds, sum(minutes for _, minutes in sheds))


def shed_of(line: CaskToDraw) -> str:
    """Return the shed that a cask lies in, with its site where one is on record."""
    return f"{line.site} {line.warehouse}".strip()


def _lines(found: DrawList) -> Iterator[str]:
    yield rule("=")
    yield from paragraph(f"DRAW LIST. Session {found.session}: {len(found.casks)} casks.")
    if found.casks:
        yield from paragraph(
            f"About {found.minutes:.0f} minutes for two people, in the order they walk."
        )
    yield rule("=")
    minutes = dict(found.sheds)
    headings = ["row", "tier", "cask", "sample", "mL", "min", "done"]
    for shed, mine in groupby(found.casks, key=shed_of):
        yield ""
        yield from paragraph(f"{printable(shed)}: {minutes[shed]:.0f} min")
        rows = [
            [
                *(line.row or "-", line.tier or "-", line.cask, line.goes_under),
                "-" if line.millilitres is None else str(line.millilitres),
                *(f"{line.minutes:.0f}", "[ ]"),
            ]
            for line in mine
        ]
        yield from columns(headings, rows, (8, 5, 14, 22, -5, -4, 5))
    yield from _standing_lines(found.casks)
    yield from _shelf_lines(found.on_shelf)
    if found.casks:
        yield ""
        for words in WALKING:
            yield from paragraph(words, bullet="- ")


def _standing_lines(casks: Sequence[CaskToDraw]) -> Iterator[str]:
    """Give what stands there of casks that are walked for all the same."""
    standing = [(line, line.standing) for line in casks if line.standing is not None]
    if not standing:
        return
    yield ""
    yield from paragraph(
        f"Drawn before: {len(standing)}. What stands there does not do, as is said of each. What "
        "you draw is a sample of its own, under the label above: write it down so, pour it "
        "together with no other, and plan the session with it, which is planned with the old one."
    )
    for line, one in standing:
        left = "" if one.left_ml is None else f"{one.left_ml:.0f} mL stand there; "
        yield from paragraph(f"{line.sample}, cask {line.cask}: {left}{one.why}.", bullet="- ")


def _shelf_lines(shelf: Sequence[OnShelf]) -> Iterator[str]:
    if not shelf:
        return
    yield ""
    yield from paragraph(
        f"On the shelf: {len(shelf)}. Nobody walks for these: enough is left by the record, and "
        "they are fresh enough to tell what is in the cask. Look at the bottle before you pour."
    )
    rows = [
        [each.cask, each.sample, str(each.drawn_on), f"{each.left_ml:.0f}", "[ ]"] for each in shelf
    ]
    yield from columns(
        ["cask", "sample", "drawn on", "mL left", "found"], rows, (14, 22, 12, -8, 6)
    )
