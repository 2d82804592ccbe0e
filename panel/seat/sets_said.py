"""What a booth asks and says of a set of glasses, in the same words whatever its face."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.kinds import Task
from panel.session.sets import SHORT, answerable, set_of, task_of

if TYPE_CHECKING:
    from collections.abc import Sequence

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
        Task.ODD: "Two glasses hold the same, one does not. Which is the odd one?",
        Task.MATCH: "The first is the reference. Which of the other two holds the same?",
    }[task_of(tray)]


def called(task: Task, number: int) -> str:
    """Return what a glass of a set is openly called beside its code, by its number from 0."""
    if number or not task.beside_first:
        return ""
    return REFERENCE if task.marks_first else "the first"


REFERENCE = "the reference"


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
    if given.task is not Task.RANK:
        return f"{_told(tray, codes, given.places())}."
    ranked = ", ".join(" = ".join(codes[number] for number in group) for group in given.groups)
    more = " = ..." if given.equal_next else ""
    left = given.size - len(given.given)
    return f"{ranked}{more}{f' ({left} to go)' if left else ''}."


def _told(tray: Tray, codes: Sequence[str], places: Sequence[int]) -> str:
    """Return a whole answer, from the places of the glasses in their order."""
    task = task_of(tray)
    by_place: dict[int, list[str]] = {}
    for code, place in zip(codes, places, strict=True):
        by_place.setdefault(place, []).append(code)
    groups = [by_place[place] for place in sorted(by_place)]
    if task is Task.RANK:
        return ", ".join(" = ".join(group) for group in groups)
    chosen, rest = groups
    return {
        Task.PICK: f"{chosen[0]} has more {tray.lines[0].name if tray.lines else 'of it'}",
        Task.SORT: f"{' and '.join(chosen)} are one, {' and '.join(rest)} the other",
        Task.ODD: f"{chosen[0]} is the odd one",
        Task.MATCH: f"{chosen[-1]} is the same as the reference",
    }[task]


def not_whole(given: Answering) -> str:
    """Return what is missing of an answer."""
    if given.task is Task.RANK:
        return "Give every glass a place first."
    return "Choose one first."


def kept(tray: Tray, job: AnswerSet) -> str:
    """Return what is said of an answer that is on disk."""
    if not job.places:
        return f"Set {job.number} is left."
    glasses = [one for one in set_of(tray, job.number).glasses if one.serving_id in job.places]
    places = [job.places[one.serving_id] for one in glasses]
    return f"The answer is kept: {_told(tray, [one.code for one in glasses], places)}."
