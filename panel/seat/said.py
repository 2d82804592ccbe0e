"""What a booth asks and says, in the same words whatever its face: screen, page or plain line.

Keys and buttons are a face's own: no sentence here names one.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from panel.kinds import STOPS, CallReason, Fault
from panel.seat.jobs import (
    CallLead,
    Job,
    KeepNote,
    KeepPrompt,
    MarkFault,
    NameWord,
    OwnMark,
    RenameWord,
    TakeWordBack,
)
from panel.seat.traces_said import late_words
from panel.session import naming, scoring
from panel.session.traces import second_asked

if TYPE_CHECKING:
    from panel.store.booth_tray import Glass, Line, Tray

MANNERS = (
    "Nose with the glass at the lip, in short sniffs; water and air between glasses. "
    "Strong spirit is flammable and alcohol: no flame near the glasses, spit, do not drive after "
    "tasting, and follow the rules of your house and place. Nobody has to nose: Not my best nose "
    "today asks for no cause."
)
NOSING_ROOM = (
    "Booths stand in the nosing room only. A screen can light vapour: it stays away from open "
    "casks, vats and bottling; the rules of your house and place decide."
)
CALLS = tuple(reason.value for reason in CallReason if reason is not STOPS)
"""What the lead is called for; that a glass is not safe has a place of its own (`seat.care`)."""
CALL = "Call the lead. Why?"
OWN_MARK = (
    "Not my best nose today: mark it",
    "Mark it, and call the lead: I stop for today or nose only",
    "As usual: take the mark off",
)
NO_CAUSE = (
    "Nobody asks why, and what you scored is kept. The lead sees the mark and reads the scores "
    "with it in mind. It covers nosing only and not today, too."
)
FAULTS = tuple(fault.value for fault in Fault)
WORD_ASKED = "What does it smell of? One thing, in your own words."
WORDS_AIM = (
    "Nose these glasses as they stand on your tray, with water and air between. Name what they "
    "smell of, one thing a word; not how strong it is, nor whether you like it. Each word becomes "
    "a line that you then score on every glass."
)
NO_GOING_BACK = "This session does not go back to a finished glass."
KEPT_IS_SAFE = "Every score shown as kept is safe, here and there."
TELL_LEAD = "If that was not you, tell the lead."
FILL_IN = "Type your code and your PIN."
OPEN_NOW = "The session is open."
OPEN_AGAIN = "The session is open again."
TRYING = "Trying again ..."
ALL_KEPT = "Looked again: all is kept."


def hour(tray: Tray, moment: datetime, *, seconds: bool = False) -> str:
    """Return a moment as the clock on the site's wall shows it."""
    local = moment.astimezone(ZoneInfo(tray.time_zone))
    return f"{local:%H:%M:%S}" if seconds else f"{local:%H:%M}"


def own_mark_asked(tray: Tray) -> str:
    """Return what stands over the choices of the own mark; no cause is asked."""
    return ("It is marked now. " if tray.not_at_best else "") + NO_CAUSE


def faults_asked(code: str) -> str:
    """Return the question about faults."""
    return f"Faults of {code}? They stand apart from the scores."


def note_asked(code: str) -> str:
    """Return the question about a note."""
    return f"What should be remembered about {code}? About the glass, not yourself."


def lines_are(count: int) -> str:
    """Return how many lines, with the verb."""
    return f"{lines(count)} {'is' if count == 1 else 'are'}"


def lines(count: int) -> str:
    """Return how many lines."""
    return "1 line" if count == 1 else f"{count} lines"


def before_putting_down(tray: Tray, code: str, blank: Sequence[str]) -> str:
    """Return what is asked before a glass is put down; nothing where nothing is to be asked."""
    parts = []
    if blank:
        parts.append(f"{lines_are(len(blank))} blank: {', '.join(blank)}.")
        parts.append("Blank means not scored; it is not zero.")
    if not tray.may_go_back:
        parts.append("This session does not go back to a glass.")
    return " ".join([*parts, f"Put {code} down?"]) if parts else ""


def zeros_asked(blank: Sequence[Line]) -> str:
    """Return the question before the lines still blank are set to their low end."""
    names = ", ".join(line.name for line in blank)
    low_words = {line.low_words for line in blank}
    means = low_words.pop() if len(low_words) == 1 else "not perceived"
    return f"None of the rest? This sets 0, {means}, on {lines(len(blank))}: {names}."


def zeros_set(count: int) -> str:
    """Return what is said once the rest was set to zero."""
    return f"0 set on {lines(count)}."


def blank_again(count: int) -> str:
    """Return what is said once zeros were taken back."""
    return f"Blank again: {lines(count)}."


def kept_words(job: Job, tray: Tray, at: str) -> str:
    """Return what is said of a deed that is on disk since *at*; scores say it on their lines."""
    words = ""
    match job:
        case CallLead(reason=reason, serving_id=int()) if reason == STOPS:
            words = f"The lead is called, and what is in that glass is stopped, since {at}."
        case CallLead(reason=reason):
            words = f"The lead is called ({reason}), since {at}."
        case OwnMark(on=on):
            words = f"Marked: not my best nose today. Kept {at}." if on else f"Off. Kept {at}."
        case MarkFault(fault=fault, on=on):
            words = f"Fault mark{'' if on else ' taken off'}: {fault}. Kept {at}."
        case KeepPrompt(number=number, value=value, at_s=seconds):
            words = f"{second_asked(tray, number)} s: {value}, kept {at}."
            words += "" if seconds is None else late_words(tray, number, seconds)
        case KeepNote():
            words = f"Note kept {at}."
        case NameWord():
            words = new_word(tray, at)
        case RenameWord():
            words = f"Written anew. Kept {at}."
        case TakeWordBack(word=word):
            words = f"{word} is taken back. Kept {at}."
    return words


def new_word(tray: Tray, at: str) -> str:
    """Return what is said of the word named last, and on which finished glasses it is blank."""
    line = tray.lines[-1]
    blank = naming.blank_glasses(tray, line.version_id)
    words = f"{line.name} is a line on every glass. Kept {at}."
    if blank:
        codes = ", ".join(glass.code for glass in blank)
        back = "go back to score it" if tray.may_go_back else "there is no going back"
        words += f" It is blank on {codes}: {back}."
    return words


def words_aim(tray: Tray) -> str:
    """Return what is to be done about words of one's own."""
    if not naming.may_still_name(tray):
        return naming.FLIGHT_OVER
    codes = "  ".join(
        f"{glass.code} (warm-up)" if glass.warm_up else glass.code
        for glass in naming.first_flight(tray)
    )
    return f"Your first flight: {codes}\n{WORDS_AIM}"


def words_count(tray: Tray) -> str:
    """Return how many words there are, and may be."""
    most = tray.own.most if tray.own is not None else None
    limit = f" of at most {most}" if most is not None else ""
    return f"Your words: {len(tray.lines)}{limit}"


def glass_facts(tray: Tray, glass: Glass, *, scored: int) -> tuple[str, str, str]:
    """Return where a glass stands, how much of it is scored, and what is marked on it."""
    at = scoring.left(tray)
    flight = f", flight {at.flight} of {at.flights}" if at.flights > 1 else ""
    warm_up = "  Warm-up: scored, not used." if glass.warm_up else ""
    marks = ", ".join(fault for fault in FAULTS if fault in glass.faults) or "none"
    note = "kept" if glass.note else "none"
    in_all = len(tray.lines)
    return (
        f"Glass {at.done_in_flight + 1} of {at.glasses_in_flight}{flight}.{warm_up}",
        f"{scored} of {in_all} lines scored, {in_all - scored} blank.",
        f"Fault marks: {marks}. Note: {note}.",
    )


def lead_called(tray: Tray) -> str:
    """Return since when the lead is called, empty where no call is open."""
    return "".join(f"lead called {hour(tray, call.called_at)}" for call in tray.calls[-1:])
