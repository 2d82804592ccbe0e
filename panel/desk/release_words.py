"""A release as its page tells it: the record, what was foretold, and what is next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from panel.figures import in_digits
from panel.kinds import ReleaseStatus

WIDE = 74
"""Letters a line: what fits beside the bar of a scrolled page at 80."""


def page_lines(record: Mapping[str, Any]) -> list[str]:
    """Return everything that is kept of a release, with what each note was foretold to be."""
    from panel.words.release import release_lines, traced_lines

    found = dict(record)
    return [
        *release_lines(found, WIDE, traced=False),
        *_foretold(record),
        *traced_lines(found),
    ]


def _foretold(record: Mapping[str, Any]) -> list[str]:
    """Return the prediction by note; where a blend was nosed it stands there already."""
    from panel.words.columns import columns

    lines = record["planned"].get("prediction") or []
    if record["nosed"] is not None or not lines:
        return []
    rows = [
        (line["descriptor"], *(_figure(line, name) for name in ("aim", "tolerance")), *_range(line))
        for line in lines
    ]
    told = "Foretold of the litres planned, in points of 100:"
    return ["", told, *columns(("note", "aim", "+/-", "foretold", "sd"), rows)]


def _figure(line: Mapping[str, Any], name: str) -> str:
    value = line.get(name)
    return "-" if value is None else in_digits(value, "g")


def _range(line: Mapping[str, Any]) -> tuple[str, str]:
    estimate, sd = line.get("estimate"), line.get("sd")
    return (
        "-" if estimate is None else in_digits(estimate, ".1f"),
        "-" if sd is None else in_digits(sd, ".1f"),
    )


OVER = {
    ReleaseStatus.BOTTLED: "It is bottled: nothing changes any more. x writes a sheet to hand on.",
    ReleaseStatus.CANCELLED: "It was given up: its casks are free.",
    ReleaseStatus.SIGNED: "Next: k once it is bottled.",
}


def what_is_next(record: Mapping[str, Any]) -> str:
    """Return the step that a release waits for, and the key of it."""
    status = ReleaseStatus(record["status"])
    if status in OVER:
        return OVER[status]
    if record["disgorged_on"]:
        return _to_sign(record)
    if record["nosed"] is not None:
        return "Next: pour the casks, then g keeps what each gave."
    if record["bench"]:
        return f"Next: nose {record['bench'][-1]} blind in a session (1, n), then pour and g."
    return "Next: d mixes a bench blend, to be nosed blind before anybody pours."


def _to_sign(record: Mapping[str, Any]) -> str:
    count = len(record["against"])
    if not count:
        return "Next: s, a second person signs."
    against = "one thing stands" if count == 1 else f"{count} things stand"
    return f"Next: s, a second person signs, with a reason: {against} against it."
