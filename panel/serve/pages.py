"""A tray as a page: the words are the seat's, the page is plain, all that was typed is escaped."""

from __future__ import annotations

import secrets
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from panel.seat import between, care, looks, passing, said, sets_said, traces_said
from panel.seat.between import Typed
from panel.seat.values import (
    DEED_DIGITS,
    LONGEST_NOTE,
    LONGEST_WORD,
    SPIT_S,
    Glass,
    Line,
    Task,
    Tray,
    answers_of,
    glass_in_hand,
    lines_at_low,
    may_still_name,
    prompts_of,
    set_in_hand,
    since_sip_s,
    task_of,
)
from panel.serve.forms import DeedKind, OwnMarkChoice

if TYPE_CHECKING:
    from datetime import datetime

    from jinja2 import Environment

TEMPLATES = Path(__file__).parent / "templates"
LOOK_S = 4
"""A page on which somebody waits asks so often what the lead did meanwhile."""
TAKES = {
    Typed.READY: "Take it up",
    Typed.OUT_OF_ORDER: "Take {code} all the same",
    Typed.FINISHED: "Take {code} up again",
}


@dataclass(frozen=True)
class Message:
    """What a page says of what was just done."""

    words: str = ""
    trouble: bool = False


QUIET = Message()


@dataclass(frozen=True)
class Shown:
    """A page before it is drawn: which one, what it is about, and the facts on it.

    Where `about` is the same as before, the page in the browser stays and only its facts change.
    """

    template: str
    about: str
    message: Message = QUIET
    facts: dict[str, object] = field(default_factory=dict)
    status: int = 200
    look_s: int = 0
    watch_s: int = 0
    """How often it is looked whether this is still the place, without redrawing what stands."""
    over: bool = False


@dataclass(frozen=True)
class LineShown:
    """A line of a glass with what is on disk of it."""

    line: Line
    value: str
    kept: str


@cache
def environment() -> Environment:
    """Return the templates, in which everything from outside is escaped."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    found = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.globals.update(new_number=new_number, words=said, care=care, longest_word=LONGEST_WORD)
    return found


def new_number() -> str:
    """Return a number for a deed of a page whose browser runs no script."""
    return secrets.token_hex(DEED_DIGITS // 2)


def drawn(shown: Shown, **frame: object) -> str:
    """Return a page as text."""
    return environment().get_template(shown.template).render(shown=shown, **shown.facts, **frame)


@cache
def style() -> str:
    """Return the one style sheet, with both looks of the booth."""
    night, day = (
        "".join(f"--{name}:{colour};" for name, colour in look.items())
        for look in (looks.LAMPLIGHT, looks.DAYLIGHT)
    )
    both = f":root{{color-scheme:dark;{night}}}\n@media (prefers-color-scheme:light)"
    both += f"{{:root{{color-scheme:light;{day}}}}}\n"
    return both + (TEMPLATES / "booth.css").read_text(encoding="utf-8")


@cache
def script() -> str:
    """Return the one script."""
    return (TEMPLATES / "booth.js").read_text(encoding="utf-8")


# ---------------------------------------------------------------- the places of a seat


def at_glass(tray: Tray, now: datetime, message: Message = QUIET) -> Shown:
    """Return the page of the glass in hand."""
    glass = glass_in_hand(tray)
    if glass is None:
        return between_glasses(tray, now, message)
    rows = [_shown_line(tray, glass, line) for line in tray.lines]
    blank = [row.line for row in rows if not row.value]
    down = said.before_putting_down(tray, glass.code, [line.name for line in blank])
    facts = {
        "tray": tray,
        "glass": glass,
        "at_hand": f"{glass.code}.{glass.pouring}",
        "rows": rows,
        "blank": blank,
        "glass_facts": said.glass_facts(tray, glass, scored=len(rows) - len(blank)),
        "down_asked": down,
        "zeroed": "",
        "longest_note": LONGEST_NOTE,
    }
    about = f"glass {glass.code}.{glass.pouring}"
    return Shown("glass.html", about, message, facts, watch_s=LOOK_S)


def passed_glass(tray: Tray, now: datetime, message: Message = QUIET) -> Shown:
    """Return the page of the glass in hand of a passing session."""
    glass = glass_in_hand(tray)
    if glass is None:
        return between_glasses(tray, now, message)
    facts = {
        "tray": tray,
        "glass": glass,
        "at_hand": f"{glass.code}.{glass.pouring}",
        "glass_facts": passing.passing_facts(tray, glass),
        "asked": passing.ASKED,
        "faults": passing.FAULTS,
        "marked": [fault for fault in passing.FAULTS if fault in glass.faults],
        "longest_note": LONGEST_NOTE,
    }
    return Shown("passing.html", f"glass {glass.code}.{glass.pouring}", message, facts)


@dataclass(frozen=True)
class PromptShown:
    """One second of a trace: what is asked, and what is kept of it."""

    number: int
    second: int
    asked: str
    given: int | None
    at: str


def traced_glass(tray: Tray, now: datetime, message: Message = QUIET) -> Shown:
    """Return the page of the glass in hand while it is traced."""
    glass = glass_in_hand(tray)
    if glass is None:
        return between_glasses(tray, now, message)
    since = since_sip_s(glass, now)
    facts = {
        "tray": tray,
        "glass": glass,
        "at_hand": f"{glass.code}.{glass.pouring}",
        "place": traces_said.place_words(tray, glass),
        "meaning": traces_said.meaning(tray),
        "ends": traces_said.ends_words(tray),
        "how": traces_said.HOW,
        "free": traces_said.FREE,
        "sip": traces_said.SIP,
        "spit": traces_said.SPIT,
        "spit_s": SPIT_S,
        "since": None if since is None else f"{since:.2f}",
        "doing": traces_said.deed_words(since),
        "prompts": list(_prompts(tray, glass)),
        "down_asked": traces_said.before_putting_down(tray, glass),
        "longest_note": LONGEST_NOTE,
    }
    about = f"glass {glass.code}.{glass.pouring}"
    return Shown("trace.html", about, message, facts, watch_s=LOOK_S)


def _prompts(tray: Tray, glass: Glass) -> Iterator[PromptShown]:
    answered = answers_of(tray, glass)
    for number, second in enumerate(prompts_of(tray), start=1):
        given, at = answered.get(number, (None, None))
        late = "" if at is None else f"{at:.0f}"
        yield PromptShown(number, second, traces_said.asked(tray, number), given, late)


def at_set(tray: Tray, now: datetime, message: Message = QUIET) -> Shown:
    """Return the page of the set in hand."""
    one = set_in_hand(tray)
    if one is None:
        return between_glasses(tray, now, message)
    task = task_of(tray)
    marked = [f"{glass.code}.{glass.pouring}" for glass in one.glasses]
    facts = {
        "tray": tray,
        "one": one,
        "task": task.value,
        "ranks": task is Task.RANK,
        "choices": list(zip(marked, one.glasses, strict=True)),
        "chosen_of": marked[1:] if task.beside_first else marked,
        "first_called": sets_said.called(task, 0),
        "marked": " ".join(marked),
        "question": sets_said.question(tray),
        "meaning": sets_said.meaning(tray),
        "place": sets_said.place_words(tray, one),
        "short": sets_said.not_answerable(tray, one),
        "how": sets_said.NOSE_THEM,
    }
    return Shown("set.html", f"set {' '.join(marked)}", message, facts)


def with_zeros(shown: Shown, tray: Tray, at: datetime) -> Shown:
    """Return the page of a glass on which the rest was set to zero at *at*, to be taken back."""
    glass = glass_in_hand(tray)
    if glass is None:
        return shown
    low = lines_at_low(tray, glass.serving_id)
    since = [str(line) for line in sorted(low) if glass.scores[line].given_at == at]
    words = f"{said.zeros_set(len(since))}" if since else ""
    facts = {**shown.facts, "zeroed": " ".join(since)}
    return Shown(shown.template, shown.about, Message(words), facts)


def _shown_line(tray: Tray, glass: Glass, line: Line) -> LineShown:
    kept = glass.scores.get(line.version_id)
    # What was written past the program and is no number on the line counts as blank.
    if kept is None or not line.low <= kept.value <= line.high:
        return LineShown(line, "", "")
    return LineShown(line, str(round(kept.value)), said.hour(tray, kept.given_at, seconds=True))


def between_glasses(
    tray: Tray, now: datetime, message: Message = QUIET, *, typed: str = "", take: str = ""
) -> Shown:
    """Return the page between two glasses; *typed* is a code that may be taken up all the same."""
    facts = {
        "tray": tray,
        "asked": between.asked_words(tray),
        "done": between.all_done(tray),
        "wait_s": between.wait_s(tray, now),
        "pause": between.pause_words(tray, now),
        "pause_over": between.pause_over(tray),
        "left": between.left_words(tray),
        "anew": between.waiting_anew(tray),
        "next": between.next_words(tray),
        "again": between.return_words(tray),
        "typed": typed,
        "take": take or TAKES[Typed.READY],
    }
    about = f"between {between.glasses_done(tray)}"
    return Shown("between.html", about, message, facts, look_s=LOOK_S)


def named_words(tray: Tray, _now: datetime, message: Message = QUIET) -> Shown:
    """Return the page of the words that an assessor names."""
    scored: Collection[int] = tray.own.scored if tray.own is not None else ()
    facts = {
        "tray": tray,
        "aim": said.words_aim(tray).split("\n"),
        "count": said.words_count(tray),
        "may_name": may_still_name(tray),
        "scored": scored,
    }
    return Shown("words.html", "own words", message, facts, watch_s=LOOK_S)


ON_WORDS = frozenset({DeedKind.WORD, DeedKind.MEND, DeedKind.UNWORD})
"""Deeds after which the page of own words stays."""
OWN_MARKS = tuple(zip(OwnMarkChoice, said.OWN_MARK, strict=True))
"""Each choice of the own mark with its words."""


# ---------------------------------------------------------------- before and after a seat


def join(message: Message = QUIET, *, status: int = 200) -> Shown:
    """Return the page that asks for the join code."""
    return Shown("join.html", "join", message, status=status)


def sign_in(message: Message = QUIET, *, code: str = "", waits: bool, status: int = 200) -> Shown:
    """Return the sign-in; where no session is open yet it looks again by itself."""
    look_s = LOOK_S if waits else 0
    return Shown(
        "sign_in.html", f"sign in {waits}", message, {"code": code}, status=status, look_s=look_s
    )


def stopped(message: Message, *, status: int, again: bool = False, over: bool = False) -> Shown:
    """Return the page of a booth that no longer saves."""
    facts: dict[str, object] = {"again": again}
    return Shown("stopped.html", "stopped", message, facts, status=status, over=over)


def held(message: Message, *, status: int) -> Shown:
    """Return the page of a booth whose records cannot be reached just now."""
    return Shown("held.html", "held", message, status=status, look_s=LOOK_S)
