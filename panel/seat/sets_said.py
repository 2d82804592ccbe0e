"""What a booth asks and says of a set of glasses, in the same words whatever its face."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.kinds import Task
from panel.session.sets import SHORT, answerable, set_of, task_of

if TYPE_CHECKING:
    from panel.seat.jobs import AnswerSet
    from panel.session.sets import Answering, GlassSet
    from panel.store.booth_tray import Tray

NOSE_THEM = (
    "Nose them from left to right, then as often as you like in the same order, with air between. "
    "Answer even where you are not sure: a guess counts as one."
)


def question(tray: Tray) -> str:
    """Return what is asked of a set."""
    note = tray.lines[0].name if tray.lines else ""
    return {
        Task.PICK: f"Which of the two has more {note}?",
        Task.SORT: "Two glasses hold one thing, two another. Which goes with the first?",
        Task.RANK: f"Rank them by {note}: the most first.",
    }[task_of(tray)]


def meaning(tray: Tray) -> str:
    """Return what the note that is asked about means, empty where none is."""
    return f"{tray.lines[0].name}: {tray.lines[0].meaning}" if _means(tray) else ""


def _means(tray: Tray) -> bool:
    return bool(tray.lines and tray.lines[0].meaning)


def place_words(tray: Tray, one: GlassSet) -> str:
    """Return where a set stands."""
    numbers = sorted({glass.flight for glass in tray.glasses})
    return f"Set {numbers.index(one.number) + 1} of {len(numbers)}."


def not_answerable(tray: Tray, one: GlassSet) -> str:
    """Return why a set cannot be answered, empty where it can."""
    return "" if answerable(task_of(tray), one) else SHORT


def answer_words(tray: Tray, one: GlassSet, given: Answering) -> str:
    """Return an answer as it stands, as far as it is given."""
    codes = [glass.code for glass in one.glasses]
    if not given.groups:
        return "No answer yet."
    if given.task is Task.PICK:
        note = tray.lines[0].name if tray.lines else "of it"
        return f"{codes[given.given[0]]} has more {note}."
    if given.task is Task.SORT:
        with_first = {0, *given.given}
        rest = [code for number, code in enumerate(codes) if number not in with_first]
        return f"{codes[0]} and {codes[given.given[0]]} are one, {' and '.join(rest)} the other."
    ranked = ", ".join(" = ".join(codes[number] for number in group) for group in given.groups)
    more = " = ..." if given.equal_next else ""
    left = given.size - len(given.given)
    return f"{ranked}{more}{f' ({left} to go)' if left else ''}."


def not_whole(given: Answering) -> str:
    """Return what is missing of an answer."""
    if given.task is Task.RANK:
        return "Give every glass a place first."
    return "Choose one first."


def kept(tray: Tray, job: AnswerSet) -> str:
    """Return what is said of an answer that is on disk."""
    if not job.places:
        return f"Set {job.number} is left."
    codes = {glass.serving_id: glass.code for glass in set_of(tray, job.number).glasses}
    by_place: dict[int, list[str]] = {}
    for serving_id, place in job.places.items():
        by_place.setdefault(place, []).append(codes.get(serving_id, "?"))
    groups = [by_place[place] for place in sorted(by_place)]
    if task_of(tray) is Task.PICK:
        told = f"{groups[0][0]} has more {tray.lines[0].name if tray.lines else 'of it'}"
    elif task_of(tray) is Task.SORT:
        told = ", ".join(" and ".join(group) for group in groups)
    else:
        told = ", ".join(" = ".join(group) for group in groups)
    return f"The answer is kept: {told}."
