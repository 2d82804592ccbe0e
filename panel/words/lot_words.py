"""A bottle's way back in words: what it is made of, what was said of it, what stands where."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.kinds import BottleKind, RemarkKind
from panel.release.lot_trace import KEPT_BACK
from panel.words.cask_words import NOT_ON_RECORD

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panel.release.lot_bottles import RemarkClosed
    from panel.release.lot_trace import BottleTold, LotPart, LotTrace, OtherLot, RemarkTold

NEVER_POURED = (
    "A bottle that came back opened is never poured for anybody, nor smelled: nobody knows what is "
    "in it. It goes to a laboratory, closed and labelled."
)
TELL_SAFETY = (
    "Trace only. Tell whoever answers for safety now, keep the bottle closed, and nose nothing of "
    "the lot; what has to be told to whom, and by when, the law of the place says."
)
SAFETY_TOLD = "Trace only: whoever answers for safety was told, and says when it is over."
WHAT_STAYS = (
    "Looked through: remarks and bottles, and the notes and reasons on casks, draws, holds, the "
    "register, sessions and releases. Not looked through: what was written at a booth, names of "
    "records, lists, printed pages, saved files, backups; nor does a search find a nickname, a "
    "slip of the pen or what tells who somebody is without a name."
)
UNKNOWN = NOT_ON_RECORD


def lot_head(found: LotTrace) -> str:
    """Return what a lot is, in one line."""
    bottles = "bottles" if found.bottles is None else f"{in_digits(found.bottles, ',')} bottles"
    strength = "" if found.abv_percent is None else f" at {in_digits(found.abv_percent, 'g')} % vol"
    return (
        f"{found.lot or found.release}, {found.release}: {bottles} of {found.bottled_on}{strength}"
    )


def next_of_lot(found: LotTrace) -> str:
    """Return the one thing to do next."""
    unsafe = [each for each in found.open_remarks if each.concerns_safety]
    if unsafe:
        untold = any(each.told_safety_on is None for each in unsafe)
        return TELL_SAFETY if untold else SAFETY_TOLD
    if any(_opened_here(each) for each in found.kept):
        return f"Send the opened bottle to a laboratory. {NEVER_POURED}"
    if any(each.kind is RemarkKind.TASTE for each in found.open_remarks):
        return _nosed_next(found)
    if found.open_remarks:
        return "Answer, and close the remark."
    if found.retained_here < KEPT_BACK:
        return (
            f"Keep {KEPT_BACK} full bottles of the lot back: {found.retained_here} are on record."
        )
    return "Nothing: no remark is open."


def _nosed_next(found: LotTrace) -> str:
    if not found.retained_here:
        return "No bottle of the lot was kept back: look for unopened ones before you answer."
    return (
        "Nose a retained bottle blind beside an unopened one (`oakpanel bottles nose`, or from "
        "the list of all on its page at the desk)."
    )


def _opened_here(bottle: BottleTold) -> bool:
    return bottle.kind is BottleKind.OPENED and bottle.gone_on is None


def part_words(part: LotPart) -> str:
    """Return what one cask gave."""
    last = part.gauges[-1]
    came = f", came from {', '.join(part.came_from)}" if part.came_from else ""
    parcel = f", parcel {part.parcel}" if part.parcel else ""
    strength = "" if part.abv_percent is None else f" at {in_digits(part.abv_percent, '.1f')} %"
    return (
        f"{part.cask} ({part.filling}), {part.wood}, {part.make or f'make {UNKNOWN}'}{parcel}, "
        f"filled {part.filled_on}{came}: {in_digits(part.litres, '.1f')} L{strength}, "
        f"{in_digits(part.share_of_vat_percent, '.1f')} % of the vat; {len(part.gauges)} "
        "gauges, the last of "
        f"{last.on} ({in_digits(last.litres, '.1f')} L, {in_digits(last.abv_percent, '.1f')} %)"
    )


def other_words(other: OtherLot) -> str:
    """Return another lot that shares a cask."""
    casks = ", ".join(other.casks)
    if other.lot is None:
        return f"{other.release} ({other.status.value}, no lot yet): {casks}"
    when = f" of {other.bottled_on}" if other.bottled_on else f", {other.status.value}"
    return f"{other.lot}, {other.release}{when}: {casks}"


def bottle_words(bottle: BottleTold) -> str:
    """Return a bottle and where it stands, or where it went."""
    said = f"bottle {bottle.bottle}, {bottle.kind.value}"
    said += f" with remark {bottle.remark}" if bottle.remark else ""
    if bottle.gone_on is not None:
        return f"{said}: gone {bottle.gone_on}, {bottle.gone_to}"
    if bottle.sample is not None:
        return f"{said}: opened as sample {bottle.sample}, {bottle.place}"
    return f"{said}: {bottle.place}, since {bottle.kept_on}"


def remark_words(remark: RemarkTold) -> str:
    """Return a remark and where it stands; who made it only where somebody asked for it."""
    said = f"remark {remark.remark} of {remark.made_on}, {remark.kind.value}: {remark.said}"
    if remark.who is not None:
        reach = f", {remark.reach}" if remark.reach else ""
        said += f" [{remark.who}{reach}]"
    return f"{said.rstrip('.')}. {remark_state(remark)}."


def remark_state(remark: RemarkTold) -> str:
    """Return how far a remark is."""
    if remark.closed_on is not None:
        return f"Closed {remark.closed_on}: {remark.outcome}"
    if remark.concerns_safety:
        if remark.told_safety_on is None:
            return "Open: whoever answers for safety is not told yet"
        return f"Open: whoever answers for safety was told on {remark.told_safety_on}"
    return "Open"


def forgotten_words(done: RemarkClosed, *, looked: bool) -> str:
    """Say how a remark ended, and what of a name stays; *looked* where one was looked for."""
    said = [f"Remark {done.remark} {f'closed: {done.outcome}' if done.outcome else 'stays open'}."]
    if done.forgotten:
        said.append("Who made it is deleted.")
    elif looked:
        said.append("Who made it was deleted already, or never named.")
    if done.taken_from:
        said.append(f"The name was taken out of: {'; '.join(done.taken_from)}.")
    if done.places_left:
        told = "1 place" if done.places_left == 1 else f"{done.places_left} places"
        said.append(f"In {told} a part of the name was left as it stands.")
    return " ".join([*said, *([WHAT_STAYS] if looked else [])])


def draw_lines(found: LotTrace) -> Iterator[str]:
    """Give each draw of a cask in it, and of its bench blend, with the sessions that nosed it."""
    by_draw: dict[str, list[str]] = {}
    for each in found.draws:
        of = each.cask or "bench blend"
        drawn = f"drawn {each.drawn_on}" if each.drawn_on else "day of the draw not on record"
        sessions = by_draw.setdefault(f"{each.sample}, {of}, {drawn}", [])
        if each.session is not None:
            sessions.append(f"{each.session} ({each.held_on})")
    for draw, sessions in by_draw.items():
        yield f"{draw}: {'nosed in ' + ', '.join(sessions) if sessions else 'never nosed'}"


def lot_lines(found: LotTrace) -> list[str]:
    """Return everything behind a lot as lines of text, what to do next first."""
    vat = "litres of the vat not on record"
    if found.vat_litres is not None:
        vat = f"{in_digits(found.vat_litres, '.1f')} L"
        vat += (
            ""
            if found.vat_abv_percent is None
            else (f" at {in_digits(found.vat_abv_percent, '.1f')} % vol")
        )
    signed = f", signed by {found.signed_by}" if found.signed_by else ""
    said = [lot_head(found), f"Next: {next_of_lot(found)}"]
    said += ["", f"Said of it: {len(found.remarks)}", *_each(map(remark_words, found.remarks))]
    said += ["", f"Vat: {vat}, proposed by {found.proposed_by}{signed}"]
    said += [*_each(map(part_words, found.parts))]
    said += ["", f"Bottles of it in the house: {sum(each.is_here for each in found.kept)} full"]
    said += [*_each(map(bottle_words, found.kept))]
    said += ["", f"Other lots that share a cask: {len(found.other_lots)}"]
    said += [*_each(map(other_words, found.other_lots))]
    said += ["", "Draws, and who nosed them:", *_each(draw_lines(found))]
    return said


def _each(lines: Iterator[str]) -> Iterator[str]:
    return (f"  {line}" for line in lines)
