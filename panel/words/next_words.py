"""What to nose next, in words: what deciding costs, who noses what and why, what is to be drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.chance_words import chance
from panel.figures import in_digits
from panel.words.answers import paragraph
from panel.words.columns import columns_within

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.next_glasses import CaskToPour, Change, Cut, NextSession, Reason
    from panel.questions.next_session import NextAnswer, SwapPriced, ToDraw

BENCH = "bench blend"


def next_lines(answer: NextAnswer, width: int = 80) -> list[str]:
    """Return the next session as lines of text."""
    from analysis.next_glasses import Question
    from analysis.next_glasses.verdict import cost_sentence, stop_sentence

    found = answer.found
    lines = paragraph(f"{found.about}: {found.question.value}.", width)
    lines += paragraph(stop_sentence(found), width)
    lines += paragraph(cost_sentence(found), width)
    if found.chosen and found.question is Question.BEST:
        lines += paragraph(chosen_words(found), width)
    for swap in answer.swaps:
        lines += paragraph(swap_words(swap, found), width)
    if not found.glasses:
        return [*lines, "", *paragraph(NO_GLASS, width)]
    lines += ["", *paragraph(list_words(answer), width), ""]
    lines += seats_lines(found, width)
    lines += ["", "Why each cask:", *(f"    {line}" for line in reason_lines(found, width - 4))]
    return [*lines, "", *draws_lines(answer, width)]


def chosen_words(found: NextSession) -> str:
    """Return which casks would be chosen today, by what, and where the choice ends."""
    n = len(found.chosen)
    which = "The best cask" if n == 1 else f"The best {n} casks"
    said = (
        f"{which} today (`--best` asks for another number): {', '.join(found.chosen)}, the nearest "
        "by how far off each is expected to be; `match` ranks by the chance to lie within the "
        "tolerance."
    )
    return f"{said} {ends_words(found.cut)}" if found.cut else said


def chosen_in_short(found: NextSession) -> str:
    """Return which casks would be chosen today and where the choice ends, for a page of casks."""
    n, cut = len(found.chosen), found.cut
    said = f"{'Best cask' if n == 1 else f'Best {n}'} today: {', '.join(found.chosen)}"
    if cut is None or cut.beyond is None:
        return said
    return f"{said}; the cut lies between {cut.within} and {cut.beyond}"


def ends_words(cut: Cut) -> str:
    """Return between which casks the choice ends."""
    within = f"{cut.within} (expected {in_digits(cut.within_off, '.2f')} points off)"
    if cut.beyond is None or cut.beyond_off is None:
        return f"No cask is left beyond {within}: all that may be chosen are."
    beyond = f"{cut.beyond} ({in_digits(cut.beyond_off, '.2f')})"
    return f"The cut lies between {within}, the last of them, and {beyond}, the first that is not."


NO_GLASS = (
    "No glass that can be poured adds anything: nothing is proposed. Where only samples at hand "
    "count, an old one does not; `--shelf SAMPLE` says that it stands there and may be poured."
)


def list_words(answer: NextAnswer) -> str:
    """Return what stands above the glasses: the session, or what it would be all the same."""
    said = session_words(answer)
    return f"{IF_ON} {said}" if answer.found.stop.stop else said


IF_ON = "If you go on all the same, this would be poured:"


def session_words(answer: NextAnswer) -> str:
    """Return the size of the session."""
    found = answer.found
    casks, glasses = len(found.casks), len(found.glasses)
    return (
        f"{glasses} glasses of {casks} {'cask' if casks == 1 else 'casks'} for "
        f"{len(answer.assessors)} assessors, at most {answer.glasses_each} each; reference and "
        "duplicate come on top when it is planned."
    )


def seats_lines(found: NextSession, width: int = 80) -> list[str]:
    """Return who noses what, a line an assessor, in the order in which glasses are worth it."""
    trays: dict[str, list[str]] = {}
    for glass in found.glasses:
        trays.setdefault(glass.assessor, []).append(glass.cask or BENCH)
    rows = [(who, len(casks), ", ".join(casks)) for who, casks in sorted(trays.items())]
    return columns_within(("assessor", "glasses", "noses"), rows, width)


def swap_words(swap: SwapPriced, found: NextSession) -> str:
    """Return what was changed by hand and what that costs."""
    said = f"{swap.into} in place of {swap.out}"
    if swap.price is None:
        return f"{said}: what that costs cannot be told before anything was nosed."
    if abs(swap.price) < LEAST_SAID:
        return f"{said}: the session saves as much."
    more = "less" if swap.price > 0 else "more"
    return (
        f"{said}: the session saves {in_digits(abs(swap.price), '.2f')} {found.unit.value} {more}."
    )


def reason_lines(found: NextSession, width: int = 80) -> list[str]:
    """Return why each cask is in it, a sentence a cask."""
    return [line for one in found.casks for line in paragraph(reason_sentence(one, found), width)]


def changes_lines(changes: Sequence[Change], width: int = 80) -> list[str]:
    """Return what the next session could change about which casks are chosen, a line a cask."""
    told = [change for change in changes if max(change.crosses, change.one_glass) >= LEAST_CHANCE]
    if not told:
        return paragraph(NOTHING_MOVES, width)
    rows = [
        (
            *(one.cask, "chosen" if one.chosen else "not", chance(one.crosses)),
            *(chance(one.one_glass), look_words(one)),
        )
        for one in told
    ]
    headings = ("cask", "now", "moves", "one glass", "which glass")
    cut = cut_words(changes)
    lines = [*(paragraph(cut, width) if cut else []), *columns_within(headings, rows, width)]
    return [*lines, *paragraph(MOVES_KEY, width)]


def cut_words(changes: Sequence[Change]) -> str:
    """Return how many casks are chosen, and which lie at the cut; nothing where there is none."""
    beyond = next((one.against for one in changes if one.chosen and one.against), None)
    within = next((one.against for one in changes if not one.chosen and one.against), None)
    if beyond is None or within is None:
        return ""
    n = sum(one.chosen for one in changes)
    last = "the one chosen" if n == 1 else f"of the {n} chosen the furthest off"
    return f"The cut: between {within}, {last}, and {beyond}, of the others the nearest."


def look_words(change: Change) -> str:
    """Return the single glass that could move a cask most."""
    if change.assessor is None:
        return "no glass of it"
    by = f"by {change.assessor}"
    return f"one look at its {change.note}, {by}" if change.note else f"one look at it, {by}"


NOTHING_MOVES = "Nothing: the next session hardly moves a cask over the cut."
MOVES_KEY = (
    "moves: chance that the next session moves it over the cut, by what is found of it or of the "
    "others. one glass: as much of that chance as the single glass of that session that tells most "
    "makes up alone."
)
LEAST_CHANCE = 0.005


def why_words(one: CaskToPour, found: NextSession) -> str:
    """Return the reason without the cask and its glasses."""
    parts = [_known(one.reason), *_told(one.reason, found)]
    return "; ".join(part for part in parts if part)


def reason_sentence(one: CaskToPour, found: NextSession) -> str:
    """Return why a cask is in the session, in a sentence."""
    glasses = "1 glass" if one.n_glasses == 1 else f"{one.n_glasses} glasses"
    return f"{one.cask or BENCH} ({glasses}): {why_words(one, found)}."


def _known(reason: Reason) -> str:
    from analysis.next_glasses import Why

    if reason.why is Why.ASKED:
        return "asked for by hand"
    if reason.why is Why.SPREAD:
        return "one of the first, spread evenly over make, wood, fill and age"
    if reason.why is Why.BLEND:
        return "one glass of the blend tells what many of its parts would"
    if not reason.n_glasses:
        return "never nosed"
    count = "1 glass" if reason.n_glasses == 1 else f"{reason.n_glasses} glasses"
    if reason.years_since is None:
        return f"nosed in {count}, on no day on record"
    return f"nosed {_ago(reason.years_since)} in {count}"


def _ago(years: float) -> str:
    if years < 1 / 24:
        return "just now"
    if years >= 1.0:
        return f"{in_digits(years, '.1f')} years ago"
    months = max(round(12 * years), 1)
    return f"{months} {'month' if months == 1 else 'months'} ago"


def _told(reason: Reason, found: NextSession) -> list[str]:
    """Return what the session could say of it."""
    from analysis.next_glasses import Question

    if reason.level is not None:
        return [f"stands for {reason.level}, least known on {reason.note}"]
    if reason.chance is None or reason.if_better is None or reason.if_worse is None:
        return []
    what = {
        Question.BEST: "that it belongs to the nearest",
        Question.WITHIN: f"that {reason.note} is within",
        Question.READY: "that it is ready within a year",
    }.get(found.question, "")
    said = f"{chance(reason.chance)} {what}"
    if reason.if_better > reason.chance > reason.if_worse:
        said += f", {chance(reason.if_better)} or {chance(reason.if_worse)} after it"
    note = "" if found.question is Question.WITHIN or not reason.note else f", by {reason.note}"
    # A session that may leave it on either side of an even chance can turn the decision.
    turns = reason.if_worse < _EVEN < reason.if_better
    return [said + note, "it can turn the decision"] if turns else [said + note]


_EVEN = 0.5
LEAST_SAID = 0.005


def draws_lines(answer: NextAnswer, width: int = 80) -> list[str]:
    """Return what the warehouse draws first, by shed and tier, with the notice it needs."""
    casks = [draw for draw in answer.draws if draw.cask is not None]
    mixed = [] if len(casks) == len(answer.draws) else paragraph(TO_MIX, width)
    if not casks:
        return mixed or paragraph("Every sample is at hand: nothing has to be drawn first.", width)
    days = "1 day's" if answer.notice_days == 1 else f"{answer.notice_days} days'"
    text = (
        f"To be drawn first ({days} notice, so from {answer.first_day} on; millilitres at cask "
        "strength, twice what is poured, because any may be the duplicate):"
    )
    rows = [
        (
            *(draw.shed or "-", draw.row or "-", draw.tier or "-", draw.cask),
            *(draw.glasses, _millilitres(draw)),
        )
        for draw in casks
    ]
    lines = [*mixed, *paragraph(text, width)]
    lines += columns_within(("shed", "row", "tier", "cask", "glasses", "mL"), rows, width)
    if answer.shed_price >= LEAST_SAID:
        lines += paragraph(
            f"Going to one shed more was priced at {in_digits(answer.shed_price, '.2f')} "
            f"{answer.found.unit.value}.",
            width,
        )
    return lines


TO_MIX = (
    "The blend has to be mixed first: `oakpanel release bench` tells what to pour of each cask."
)


def _millilitres(draw: ToDraw) -> str:
    return "-" if draw.millilitres is None else f"{draw.millilitres:.0f}"
