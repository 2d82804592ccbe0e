"""Settings of the house, changed within their bounds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from panel.errors import EntriesAtFault
from panel.figures import in_digits, typed_number
from panel.records.deed import deed
from panel.store.house import COMMA, POINT, SettingRule, read_setting, rule_for
from panel.store.house_setting import HouseSetting

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class SettingChanged:
    """A setting before and after."""

    name: str
    before: float | str
    value: float | str


def change_setting(
    db: Session,
    name: str,
    value: str,
    *,
    now: datetime,
    by: str | None,
    reason: str | None = None,
) -> SettingChanged:
    """Keep a new value of a setting after checking it against its bounds.

    The reason stands in the log; what guards people is not raised without one.

    Raises
    ------
    UnknownRecord, EntriesAtFault, NotAllowed
        There is no such setting; the value is out of its bounds; a cap is raised without a
        reason; or whoever acts does not lead.
    """
    with deed(db, "setting changed", now=now, by=by) as done:
        before = read_setting(db, name)
        _store(db, name, value)
        changed = SettingChanged(name, before, read_setting(db, name))
        _ask_why(changed, reason)
        done.details.update(setting=name, before=before, now=changed.value)
        if reason:
            done.details["reason"] = reason
    return changed


def _ask_why(changed: SettingChanged, reason: str | None) -> None:
    rule = rule_for(changed.name)
    if not rule.guards or (reason and reason.strip()):
        return
    if float(changed.value) > max(float(rule.default), float(changed.before)):
        why = (
            f"{changed.name} guards people: to raise it above "
            f"{in_digits(rule.default, 'g')} {rule.unit} say "
            "why (--reason); it is kept in the log."
        )
        raise EntriesAtFault({"reason": why})


def _store(db: Session, name: str, value: str) -> None:
    rule = rule_for(name)
    if isinstance(rule.default, str):
        _TEXTS.get(name, str)(value)
    else:
        _check_bounds(name, rule, value)
        value = value.replace(",", ".")
    stored = db.get(HouseSetting, name)
    if stored is None:
        db.add(HouseSetting(name=name, value=value))
    else:
        stored.value = value
    db.flush()


def _check_zone(value: str) -> None:
    try:
        ZoneInfo(value)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        wrong = f"{value!r} is not a time zone; write it as Europe/Lisbon or UTC."
        raise EntriesAtFault({"value": wrong}) from None


def _check_bounds(name: str, rule: SettingRule, value: str) -> None:
    try:
        number = typed_number(value)
    except ValueError:
        wrong = f"{name} is a number in {rule.unit}, not {value!r}."
        raise EntriesAtFault({"value": wrong}) from None
    if not rule.low <= number <= rule.high:
        wrong = (
            f"{name} lies between {in_digits(rule.low, 'g')} and "
            f"{in_digits(rule.high, 'g')} {rule.unit}."
        )
        raise EntriesAtFault({"value": wrong})


def _check_mark(value: str) -> None:
    if value not in {POINT, COMMA}:
        raise EntriesAtFault({"value": f"{value!r} is no decimal mark: write {POINT} or {COMMA}."})


_TEXTS: Mapping[str, Callable[[str], object]] = {
    "time_zone": _check_zone,
    "decimal_mark": _check_mark,
}
"""Settings in words that are held to something; the others are as they are typed."""
