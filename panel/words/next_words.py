"""What to nose next, in words: what deciding costs, who noses what and why, what is to be drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.chance_words import chance
from analysis.next_glasses.verdict import on_day
from panel.figures import count, in_digits
from panel.words.answers import paragraph
from panel.words.apart_words import apart_words
from panel.words.columns import columns_within
from panel.words.vat_mind_words import BENCH, turn_words

if TYPE_CHECKING:
    from datetime import date

    from analysis.next_glasses import CaskToPour, Cut, NextSession, Reason
    from panel.questions.next_session import NextAnswer, SwapPriced, ToDraw


def next_lines(answer: NextAnswer, width: int = 80, asked: date | None = None) -> list[str]:
    """Return the next session as lines of text, by the day asked about (none: today)."""
    from analysis.next_glasses import Question
    from analysis.next_glasses.verdict import cost_sentence, stop_sentence

    found = answer.found
    lines = paragraph(f"{found.about}: {found.question.value}.", width)
    lines += paragraph(stop_sentence(found, asked), width)
    lines += paragraph(cost_sentence(found, asked), width)
    if found.chosen and found.question is Question.BEST:
        lines += paragraph(chosen_words(found, asked), width)
    if found.vat is not None:
        lines += paragraph(turn_words(found.vat), width)
    for swap in answer.swaps:
        lines += paragraph(swap_words(swap, found), width)
    if not found.glasses:
        return [*lines, "", *paragraph(no_glass_words(found), width)]
    lines += ["", *paragraph(list_words(answer), width), ""]
    lines += seats_lines(found, width)
    lines += ["", *paragraph(why_heading(found, asked), width)]
    lines += [f"    {line}" for line in reason_lines(found, width - 4)]
    return [*lines, "", *draws_lines(answer, width)]


def chosen_words(found: NextSession, on: date | None = None) -> str:
    """Return which casks would be chosen for a day (none: today), by what, where it ends."""
    n = len(found.chosen)
    which = "The best cask" if n == 1 else f"The best {n} casks"
    said = (
        f"{which} {on_day(on)}{_fewer(found)} (`--best` asks for another number): "
        f"{', '.join(found.chosen)}, the nearest "
        "by how far off each is expected to be; `match` ranks by the chance to lie within the "
        "tolerance."
    )
    parts = [said, *([ends_words(found.cut)] if found.cut else []), apart_words(found)]
    return " ".join(part for part in parts if part)


def chosen_in_short(found: NextSession, on: date | None = None) -> str:
    """Return which casks would be chosen for a day, where the choice ends, for a page of casks."""
    n, cut = len(found.chosen), found.cut
    which = "Best cask" if n == 1 else f"Best {n}"
    said = f"{which} {on_day(on)}{_fewer(found)}: {', '.join(found.chosen)}"
    if cut is None or cut.beyond is None:
        return said
    return f"{said}; the cut lies between {cut.within} and {cut.beyond}"


def _fewer(found: NextSession) -> str:
    """Return that fewer casks may be chosen than were asked for, where that is so."""
    cut = found.cut
    if cut is None or cut.n_chosen >= cut.n_wanted:
        return ""
    return f", all that may be chosen: {cut.n_wanted} were asked for"


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

NONE_LEFT = (
    "No glass is proposed: all casks that may be chosen are chosen, so none can change which. Ask "
    "for fewer (`--best`) to have them told apart."
)


def no_glass_words(found: NextSession) -> str:
    """Return why no glass is proposed."""
    all_chosen = found.cut is not None and found.cut.n_chosen == found.n_casks
    return NONE_LEFT if all_chosen else NO_GLASS


def list_words(answer: NextAnswer) -> str:
    """Return what stands above the glasses: the session, or what it would be all the same."""
    said = session_words(answer)
    return f"{IF_ON} {said}" if answer.found.stop.stop else said


IF_ON = "If you go on all the same, this would be poured:"


def session_words(answer: NextAnswer) -> str:
    """Return the size of the session."""
    glasses = count(len(answer.found.glasses), "glass", "glasses")
    people = count(len(answer.assessors), "assessor")
    return (
        f"{glasses} of {poured_words(answer.found)} for {people}, at most {answer.glasses_each} "
        "each; reference and duplicate come on top when it is planned."
    )


def poured_words(found: NextSession) -> str:
    """Return how many casks are poured, and the bench blend where it is."""
    casks = [one.cask for one in found.casks if one.cask is not None]
    blend = [f"the {BENCH}"] if len(casks) < len(found.casks) else []
    return " and ".join([*([count(len(casks), "cask")] if casks or not blend else []), *blend])


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


def why_heading(found: NextSession, asked: date | None = None) -> str:
    """Return what stands above the reasons, with what the chances after the session mean."""
    return " ".join([f"{why_title(found)}:", *after_it_words(found, asked)])


def why_title(found: NextSession) -> str:
    """Return of what the reasons are told: of casks, of the bench blend, or of both."""
    casks = [one.cask for one in found.casks]
    if None not in casks:
        return "Why each cask"
    return f"Why the {BENCH}" if len(casks) == 1 else f"Why the {BENCH} and each cask"


def after_it_words(found: NextSession, asked: date | None = None) -> list[str]:
    """Return what the chances after the session mean, where any is told."""
    told = [one.cask for one in found.casks if one.reason.if_better is not None]
    if not told:
        return []
    what = f"the {BENCH}" if told == [None] else "the cask"
    return [
        f"(after it: if the session finds {what} better than it is held {on_day(asked)}, or worse)"
    ]


def reason_lines(found: NextSession, width: int = 80) -> list[str]:
    """Return why each cask is in it, a sentence a cask."""
    return [line for one in found.casks for line in paragraph(reason_sentence(one, found), width)]


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
    nosed = count(reason.n_glasses, "glass", "glasses")
    where = ", none beside those compared" if reason.why is Why.APART else ""
    if reason.years_since is None:
        return f"nosed in {nosed}, on no day on record{where}"
    return f"nosed {_ago(reason.years_since)} in {nosed}{where}"


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
