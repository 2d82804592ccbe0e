"""Rules of law, changed by the house: a set in force or off, a rule kept or struck out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import EntriesAtFault, UnknownRecord
from panel.figures import in_digits
from panel.kinds import RuleKind
from panel.records.deed import deed
from panel.store.rule_sets import RuleLine, RuleSet
from panel.store.rules import HIGHEST, SUPPLIED, UNITS, rule_books
from panel.store.word_text import name_fault

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

KINDS = tuple(kind.value for kind in RuleKind)


def set_in_force(db: Session, name: str, in_force: bool, *, now: datetime, by: str | None) -> None:
    """Put a set in force or out of it.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no set of that name; or whoever acts does not lead.
    """
    with deed(db, "rule changed", now=now, by=by) as done:
        known = [book.name for book in rule_books(db)]
        if name not in known:
            raise UnknownRecord(f"There is no rule set {name!r}. There are: {', '.join(known)}.")
        _stored(db, name, in_force).in_force = in_force
        what = "on" if in_force else "off"
        done.details.update(rule_set=name, what=what, value=None, cites="")


def change_rule(
    db: Session,
    name: str,
    what: str,
    value: float | None,
    cites: str,
    *,
    now: datetime,
    by: str | None,
) -> None:
    """Keep a rule of a set, a new one of the house's own among them; None strikes it out.

    Raises
    ------
    UnknownRecord
        There is no rule of that kind (see `KINDS`).
    EntriesAtFault
        No law is cited, or the value is out of its range.
    NotAllowed
        Whoever acts does not lead.
    """
    with deed(db, "rule changed", now=now, by=by) as done:
        kind = _kind(what)
        _check(name, kind, value, cites)
        stored = _stored(db, name, SUPPLIED.get(name, (False, {}))[0])
        line = next((each for each in stored.lines if each.kind is kind), None)
        if line is None:
            stored.lines.append(RuleLine(kind=kind, value=value, cites=cites.strip()))
        else:
            line.value, line.cites = value, cites.strip()
        told = "none" if value is None else in_digits(value, "g")
        done.details.update(rule_set=name, what=what, value=told, cites=cites)


def _kind(what: str) -> RuleKind:
    if what not in KINDS:
        raise UnknownRecord(
            f"There is no rule of the kind {what!r}. There are: {', '.join(KINDS)}."
        )
    return RuleKind(what)


def _check(name: str, kind: RuleKind, value: float | None, cites: str) -> None:
    faults = {}
    if wrong := name_fault(name):
        faults["name"] = f"The set's name {wrong}."
    if not cites.strip():
        faults["cites"] = "Say which law the rule comes from: --cites 'name of the law'."
    if value is not None and not 0.0 <= value <= HIGHEST[kind]:
        faults["value"] = (
            f"{kind.value} lies between 0 and {in_digits(HIGHEST[kind], 'g')} "
            f"{UNITS[kind]}, not {in_digits(value, 'g')}."
        )
    if faults:
        raise EntriesAtFault(faults)


def _stored(db: Session, name: str, in_force: bool) -> RuleSet:
    stored = db.scalar(select(RuleSet).where(RuleSet.name == name))
    if stored is None:
        stored = RuleSet(name=name, in_force=in_force, lines=[])
        db.add(stored)
    return stored
