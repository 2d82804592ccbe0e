"""`oakpanel agreement`: can this panel be trusted?"""

from __future__ import annotations

from contextlib import closing, nullcontext
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import emit_json, progress, waiting
from panel.cli.completing import a_note, a_person, a_session
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_date,
)
from panel.cli.kinds import BY_COMMAND, known, part_of_agreement
from panel.cli.looking import confirm_lead, confirm_own, confirm_unfinished
from panel.cli.pictured import check_picture, drawn_here, picture_option

if TYPE_CHECKING:
    from analysis.agreement import Span
    from panel.store.engine import Session
    from panel.words.kinds import Part

ONE_PICTURE = (
    "--picture draws the whole of one SESSION, one --descriptor of it, or who moves over several."
)
WHOSE_PICTURE = (
    "Everybody's marks on one note are the lead's and each person's own to see: add --private, or "
    "--assessor CODE for that person's own page."
)


@dataclass(frozen=True)
class Wish:
    """What of an agreement is asked for."""

    assessor: str | None
    descriptor: str | None
    private: bool
    picture: str | None
    seed: int
    as_of: date | None
    as_json: bool

    @property
    def part(self) -> Part:
        """Return which part of the answer that is."""
        from panel.words.kinds import Part

        return Part(self.assessor, self.descriptor, self.private)


@click.command("agreement")
@click.argument("sessions", nargs=-1, metavar="[SESSION]...", shell_complete=a_session)
@click.option("--since", callback=read_date, metavar="DATE", help="Sessions from this date on.")
@click.option("--until", callback=read_date, metavar="DATE", help="Sessions up to this date.")
@click.option(
    "--assessor",
    metavar="CODE",
    help="One assessor's page; over several sessions it asks their PIN, or a lead's.",
    shell_complete=a_person,
)
@click.option("--descriptor", metavar="NAME", help="One descriptor's page.", shell_complete=a_note)
@click.option(
    "--note",
    metavar="CODE",
    help="What one assessor takes home, after the reveal; asks their PIN, or a lead's.",
    shell_complete=a_person,
)
@click.option(
    "--two",
    nargs=2,
    metavar="CASK CASK",
    help="Whether two casks, named before looking at the means, are alike; after the reveal.",
)
@click.option(
    "--seed", type=int, default=1, show_default=True, help="For permutations, bootstraps."
)
@click.option(
    "--private", is_flag=True, help="Add what is for one person and the lead; asks a lead's PIN."
)
@picture_option
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    sessions: tuple[str, ...],
    since: date | None,
    until: date | None,
    assessor: str | None,
    descriptor: str | None,
    note: str | None,
    two: tuple[str, str] | None,
    seed: int,
    private: bool,
    picture: str | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Say which descriptors and which assessors to believe.

    One SESSION, on the house's descriptors or in own words; or several, by name or by dates,
    with who has moved, and since when. --two holds two casks against each other.
    """
    _check_usage(sessions, since, until, note)
    check_picture(picture, as_json=as_json)
    wish = Wish(assessor, descriptor, private, picture, seed, as_of, as_json)
    if picture is not None:
        _check_drawn(wish, other=bool(two or note), one=len(set(sessions)) == 1)
    if two is not None and (note or assessor or descriptor):
        raise click.UsageError("--two is about two casks on every note: ask for it alone.")
    over_sessions = len(set(sessions)) != 1
    whose = note or (assessor if picture is not None or over_sessions else None)
    if private:
        confirm_lead(inv, ", ".join(sessions) or f"sessions since {since}")
    elif whose is not None:
        confirm_own(inv, whose)
    with inv.reading() as db:
        names = _named(db, sessions, since, until)
    if not private:
        confirm_unfinished(inv, names)
    with closing(inv.open()) as store, store.read() as db:
        if two is not None:
            _show_two(db, names, two, wish)
        elif note is not None:
            _show_note(db, names[0], note, wish)
        elif len(names) > 1 or not sessions:
            _show_span(db, names, wish)
        else:
            _show_session(db, names[0], wish)


def _check_usage(
    sessions: tuple[str, ...], since: date | None, until: date | None, note: str | None
) -> None:
    by_dates = since is not None or until is not None
    if not sessions and not by_dates:
        raise click.UsageError("Name a SESSION, several, or give --since and --until.")
    if sessions and by_dates:
        raise click.UsageError("Give either sessions by name or a span of dates, not both.")
    if since is not None and until is not None and since > until:
        raise click.UsageError(
            f"--since {since} is later than --until {until}: they are the wrong way round."
        )
    if note is not None and len(sessions) != 1:
        raise click.UsageError("--note is about one SESSION.")


def _check_drawn(wish: Wish, *, other: bool, one: bool) -> None:
    """Refuse a picture of what has none, and everybody's marks for just anybody."""
    if other or (one and wish.assessor and not wish.descriptor) or (wish.descriptor and not one):
        raise click.UsageError(ONE_PICTURE)
    if wish.descriptor and not (wish.assessor or wish.private):
        raise click.UsageError(WHOSE_PICTURE)


def _named(
    db: Session, sessions: tuple[str, ...], since: date | None, until: date | None
) -> list[str]:
    from panel.questions.sessions import sessions_between

    if sessions:
        return list(dict.fromkeys(sessions))
    return sessions_between(db, since, until)


def _show(wish: Wish, document: dict[str, Any], lines: list[str]) -> None:
    if wish.as_json:
        emit_json(document)
    else:
        click.echo("\n".join(lines))


def _show_note(db: Session, session: str, assessor: str, wish: Wish) -> None:
    from panel.questions.agreement import evening_note_of
    from panel.words.agreement_words import evening_lines

    found = evening_note_of(db, session, assessor, as_of=wish.as_of, seed=wish.seed)
    lines = evening_lines(found, private=wish.private)
    _show(wish, found.to_dict(private=wish.private), lines)


def _show_two(db: Session, names: list[str], named: tuple[str, str], wish: Wish) -> None:
    from panel.questions.two_casks import two_named_casks
    from panel.words.two_casks import two_casks_lines

    found = two_named_casks(db, names, named, as_of=wish.as_of)
    _show(wish, found.to_dict(), two_casks_lines(found))


def _show_session(db: Session, session: str, wish: Wish) -> None:
    from panel.pictures.sessions import pictures_of
    from panel.questions.kinds import kind_of, session_answer
    from panel.session.reopened import after_reopening, late_lines
    from panel.words.kinds import SESSION_LINES

    if wish.picture and wish.descriptor and _drawn_note(db, session, wish):
        return
    kind = kind_of(db, session)
    asked = BY_COMMAND[kind]
    with waiting(asked.waiting) if asked.waiting else nullcontext():
        answer = session_answer(db, session, as_of=wish.as_of, seed=wish.seed)
    whole = wish.picture if wish.descriptor is None else None
    if drawn_here(whole, pictures_of(answer) if whole else ()):
        return
    late = after_reopening(db, session)
    document = {
        **asked.part(answer.to_dict(private=wish.private), wish.part),
        "after_reopening": late,
    }
    said = late_lines({session: late})
    _show(wish, document, [*SESSION_LINES[kind](answer, wish.part), *said])


def _drawn_note(db: Session, session: str, wish: Wish) -> bool:
    """Draw who saw a note differently: the lead's page with their PIN, else one person's own."""
    from panel.pictures.people import seen_differently

    drawn = seen_differently(
        *(db, session, wish.descriptor or ""),
        own=wish.assessor,
        as_of=wish.as_of,
        seed=wish.seed,
    )
    return drawn_here(wish.picture, drawn)


def _drawn_moving(result: Span, wish: Wish) -> bool:
    """Draw the panel over sessions; with the lead's PIN everybody, else one person's own row."""
    if wish.picture is None:
        return False
    from panel.pictures.people import moving

    own = () if wish.assessor is None else (wish.assessor,)
    whose = None if wish.private and not own else own
    drawn = moving(result, whose=whose)
    return drawn_here(wish.picture, drawn)


def _show_span(db: Session, names: list[str], wish: Wish) -> None:
    from panel.questions.agreement import span_agreement
    from panel.session.reopened import after_reopening, late_lines

    with progress("Judging sessions") as told:
        result = span_agreement(db, names, as_of=wish.as_of, seed=wish.seed, progress=told)
    if _drawn_moving(result, wish):
        return
    document = part_of_agreement(result.to_dict(private=wish.private), wish.part)
    late = {each["session"]: after_reopening(db, each["session"]) for each in document["sessions"]}
    for told_of in document["sessions"]:
        told_of["after_reopening"] = late[told_of["session"]]
    _show(wish, document, [*_span_lines(result, wish), *late_lines(late)])


def _span_lines(result: Span, wish: Wish) -> list[str]:
    from panel.words.agreement_words import (
        span_assessor_lines,
        span_descriptor_lines,
        span_lines,
    )
    from panel.words.answers import private_lines

    if wish.assessor is None and wish.descriptor is None:
        return span_lines(result, private=wish.private)
    lines: list[str] = []
    if wish.descriptor is not None:
        known(wish.descriptor, [note.descriptor for note in result.descriptors], "descriptor")
        lines += span_descriptor_lines(result.descriptor(wish.descriptor))
    if wish.assessor is not None:
        known(wish.assessor, [person.assessor for person in result.assessors], "assessor")
        lines += span_assessor_lines(result.assessor(wish.assessor))
        facts = [fact for fact in result.private if fact.assessor == wish.assessor]
        lines += private_lines(facts) if wish.private else []
    return lines
