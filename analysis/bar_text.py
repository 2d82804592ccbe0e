"""What is held against a filling as text and back, so that a file may carry it.

Standard library only, as :mod:`analysis.bars`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import MISSING, asdict, fields
from datetime import date
from typing import Any

from .bars import Bar, Barred, BarRules, Bars, FillingFacts, Marks

_BETWEEN = "; "
_DAYS = ("gone_on", "leaking_since", "topped_on", "weak_from", "used_on")
_SEVERAL = ("others", "reserved_for")


def bars_as_text(bars: Bars) -> tuple[str | None, str | None]:
    """Return the bars for people to read, and the facts and rules behind them; None without any.

    Examples
    --------
    >>> from oakpanel.analysis.bars import bars_of
    >>> names, facts = bars_as_text(bars_of(FillingFacts(180.0, 58.0, owner="Mill Trust")))
    >>> names, bars_from_text(names, facts)[0].facts.owner
    ('of another owner', 'Mill Trust')
    """
    if not bars:
        return None, None
    behind = {"facts": _told(bars[0].facts), "rules": _told(bars[0].rules)}
    return _BETWEEN.join(each.bar.value for each in bars), json.dumps(behind, ensure_ascii=False)


def bars_from_text(names: str | None, behind: str | None) -> Bars:
    """Return the bars that :func:`bars_as_text` told.

    Raises
    ------
    ValueError
        The text is none of ours.
    """
    if not names:
        return ()
    try:
        told = json.loads(behind or "")
        facts, rules = _facts(told["facts"]), BarRules(**told["rules"])
    except (KeyError, TypeError, ValueError) as error:
        raise ValueError("the facts behind the bars are not as they were saved") from error
    return tuple(Barred(Bar(name), facts, rules) for name in names.split(_BETWEEN))


def _told(value: FillingFacts | BarRules) -> dict[str, Any]:
    """Return what differs from its default; what has none is always told."""
    told = asdict(value)
    for part in fields(value):
        if part.default is not MISSING and told[part.name] == part.default:
            del told[part.name]
    return {name: _plain(part) for name, part in told.items()}


def _plain(part: Any) -> Any:
    return part.isoformat() if isinstance(part, date) else part


def _facts(told: Mapping[str, Any]) -> FillingFacts:
    known = dict(told)
    for name in _DAYS:
        if name in known:
            known[name] = date.fromisoformat(known[name])
    for name in _SEVERAL:
        if name in known:
            known[name] = tuple(known[name])
    if "marks" in known:
        known["marks"] = tuple(
            Marks(tuple(each["faults"]), each["n_assessors"], each["session"])
            for each in known["marks"]
        )
    return FillingFacts(**known)
