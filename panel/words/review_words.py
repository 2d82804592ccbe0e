"""The review in words: each reason as a sentence, and the one thing to do about it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.questions.review.matters import TOLD_AS_ONE, Reason

if TYPE_CHECKING:
    from datetime import date

    from panel.questions.review.matters import Matter
    from panel.questions.review.review import Review, ReviewLine, TickLine, WarehouseReview

CAUTIONS = (
    "Nobody works among casks alone, and nobody climbs on racks or casks: what lies high is "
    "brought down by whoever is trained for it.",
    "Vapour at an open bung burns: only lamps, telephones and tools that are rated for it, no "
    "flame, and fresh air before anybody leans over a cask.",
    "What was lost, found or spilled may bear duty: local law and the licensed say what has to be "
    "told, and by when.",
)
MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)


def month_words(day: date) -> str:
    """Return month and year."""
    return f"{MONTHS[day.month - 1]} {day.year}"


def needing_words(review: Review) -> str:
    """Return how many casks need somebody, of how many."""
    part = review.part.words()
    where = f" in {part}" if part else ""
    needs = "needs" if review.n_needing == 1 else "need"
    return (
        f"{in_digits(review.n_needing, ',')} of {in_digits(review.n_casks, ',')} "
        f"casks{where} {needs} somebody"
    )


def review_head(review: Review) -> str:
    """Return the same as a sentence, with its day."""
    return f"{needing_words(review)}; as of {review.as_of}."


def warehouse_words(one: WarehouseReview) -> str:
    """Return a warehouse with how many of its casks need somebody."""
    name = " ".join(part for part in (one.site, one.warehouse) if part)
    name = name or "No warehouse on record"
    return f"{name}: {in_digits(one.n_needing, ',')} of {in_digits(one.n_casks, ',')}"


def not_shown_words(one: WarehouseReview) -> str | None:
    """Return how many lines more there are."""
    if not one.not_shown:
        return None
    lines = "line" if one.not_shown == 1 else "lines"
    return f"{in_digits(one.not_shown, ',')} {lines} more, none of them worse: tick these first."


def casks_words(line: ReviewLine) -> str:
    """Return the cask of a line, or its parcel with how many of it."""
    if len(line.casks) == 1:
        return line.cask
    if line.parcel:
        return f"{line.parcel}: {len(line.casks)} casks, {line.cask} first"
    return f"{len(line.casks)} casks, {line.cask} first"


def reason_words(line: ReviewLine) -> str:
    """Return why somebody is needed; of several casks it is told of the worst."""
    said = _REASONS[line.reason](line.matter)
    if len(line.casks) > 1 and line.reason not in TOLD_AS_ONE:
        return f"{said} ({line.matter.cask}, the worst)"
    return said


def action_words(line: ReviewLine) -> str:
    """Return the one thing to do."""
    return _ACTIONS[line.reason]


def line_words(line: ReviewLine) -> str:
    """Return a line as one sentence."""
    place = f", {line.place}" if line.place else ""
    return f"{casks_words(line)}{place}: {reason_words(line)}. {action_words(line)}."


def _percent(value: float | None) -> str:
    return "-" if value is None else f"{in_digits(value, '.1f')} %"


def _loses(matter: Matter) -> str:
    own = matter.own_percent_a_year
    own_said = "" if own is None else f", and its own would be {_percent(own)}"
    return (
        f"lost {_percent(matter.percent_a_year)} of its alcohol a year from {matter.since} to "
        f"{matter.on}{own_said}"
    )


def _store_loses(matter: Matter) -> str:
    store = matter.lies.warehouse or "this store"
    return (
        f"{store} loses {_percent(matter.percent_a_year)} of its alcohol a year where "
        f"{_percent(matter.own_percent_a_year)} is reckoned"
    )


def _falls(matter: Matter) -> str:
    if matter.on is None:
        return "falls under the legal strength"
    early = None if matter.earliest is None else month_words(matter.earliest)
    late = None if matter.latest is None else month_words(matter.latest)
    if matter.since is not None:
        span = "" if early is None or late is None or early == late else f" ({early} to {late})"
        return f"under the legal strength since {month_words(matter.since)} by what it loses{span}"
    between = f"{early or 'now'} to {late or 'later than is foreseen'}"
    return f"falls under the legal strength in {month_words(matter.on)} ({between})"


def _ready(matter: Matter) -> str:
    until = "" if matter.latest is None else f" until {month_words(matter.latest)}"
    return f"meets {matter.about} now, and{until or ' not much longer'}"


_REASONS: Mapping[Reason, Callable[[Matter], str]] = {
    Reason.LEAKS: lambda m: f"leaking since {m.since}, no repair on record",
    Reason.LOSES: _loses,
    Reason.STORE_LOSES: _store_loses,
    Reason.TWO_FILLINGS: lambda m: f"by the records {m.about} lies in the same cask",
    Reason.CONTRADICTS: lambda m: f"gauges of {m.since} and {m.on} do not fit what was drawn",
    Reason.GAINS: lambda m: (
        f"gained {_percent(m.percent_a_year)} of alcohol a year from {m.since} to {m.on}"
    ),
    Reason.WEAK: lambda m: f"under the legal strength by its gauge of {m.on}",
    Reason.FALLS: _falls,
    Reason.HOLD_OVER: lambda m: f"its hold ended on {m.on}: {m.about}",
    Reason.PROMISED: lambda m: f"promised to {m.about} for {m.on}, and not taken",
    Reason.READY: _ready,
    Reason.OLD_GAUGE: lambda m: (
        f"gauged {in_digits(m.years or 0.0, '.1f')} years ago"
        + (f", and {m.about} hangs on it" if m.about else ", and litres are reserved by it")
    ),
    Reason.NEVER_NOSED: lambda m: f"wanted for {m.about}, and never nosed",
    Reason.OLD_GAUGES: lambda m: (
        f"gauged {in_digits(m.years or 0.0, '.1f')} years ago or less, no plan on it"
    ),
}
_ACTIONS: Mapping[Reason, str] = {
    Reason.LEAKS: "Repair or re-rack it, then weigh it",
    Reason.LOSES: (
        "Weigh it again and look for the leak; tell whoever answers for duty before any vat takes "
        "it"
    ),
    Reason.STORE_LOSES: (
        "Look why; where it is warm or dry there and it is not named yet, name it in the house's "
        "dry_stores, and its casks are reckoned by that"
    ),
    Reason.TWO_FILLINGS: "Write down which was emptied, and when",
    Reason.CONTRADICTS: "Weigh it, and put the wrong record right",
    Reason.GAINS: "Weigh it again, and write down what went in",
    Reason.WEAK: "Decide what becomes of it: by itself it may not be sold as whisky",
    Reason.FALLS: "Weigh it, then use, vat or re-rack it before",
    Reason.HOLD_OVER: "Lift the hold, or set a new day",
    Reason.PROMISED: "Take it, or tell whoever waits that it does not come",
    Reason.READY: "Nose it now, and bottle it or say that it may stay",
    Reason.OLD_GAUGE: "Weigh it before the plan is acted on",
    Reason.NEVER_NOSED: "Draw it for the next session",
    Reason.OLD_GAUGES: "Weigh them on the next round",
}


def review_lines(review: Review, *, walk: bool = False) -> list[str]:
    """Return a review as lines of text, the worst first or in walking order."""
    said = [review_head(review)]
    for one in review.warehouses:
        said += ["", warehouse_words(one)]
        lines = one.walked if walk else one.lines
        said += [f"{'□ ' if walk else ''}{line_words(line)}" for line in lines]
        said += [more] if (more := not_shown_words(one)) else []
    said += ["", *review.not_told] if review.not_told else []
    return said


def tick_words(tick: TickLine) -> str:
    """Return what was seen to, when and by whom."""
    note = f": {tick.note}" if tick.note else ""
    return f"{tick.done_on}  {tick.cask}  {tick.reason}, by {tick.by}{note}"
