"""Who noses which sample, said glass by glass: what a plan is given where not all get everything.

The pairs come from a person, a file, or from what works out the next session. Reference, duplicate
and warm-up glass are no part of them: planning adds these, blind and evenly, and lays the orders.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import Final

HEADINGS: Final = ("assessor", "sample")
"""What a file of pairs begins with; other columns are left alone."""
_MOST_NAMED: Final = 6


@dataclass(frozen=True)
class Assigned:
    """One sample, by the label of its draw, for one assessor, by code."""

    assessor: str
    sample: str


def read_assigned(text: str) -> tuple[tuple[Assigned, ...], tuple[str, ...]]:
    """Read pairs from a table with the headings `assessor` and `sample`; and every fault in it."""
    rows = csv.DictReader(StringIO(text.removeprefix("\ufeff")), skipinitialspace=True)
    headings = {(name or "").strip().lower(): name for name in rows.fieldnames or ()}
    missing = [name for name in HEADINGS if name not in headings]
    if missing:
        there = ", ".join(name for name in headings if name) or "none"
        return (), (f"There is no column {' and no '.join(missing)}; the columns are: {there}.",)
    pairs: list[Assigned] = []
    faults: list[str] = []
    for number, row in enumerate(rows, start=2):
        values = [(row[headings[name]] or "").strip() for name in HEADINGS]
        empty = [name for name, value in zip(HEADINGS, values, strict=True) if not value]
        if empty and any(values):
            faults.append(f"Row {number} names no {' and no '.join(empty)}.")
        elif not empty:
            pairs.append(Assigned(*values))
    if not pairs and not faults:
        faults.append("It names nobody: below the headings stands one line a glass.")
    return tuple(pairs), tuple(faults)


def people_of(pairs: Sequence[Assigned]) -> tuple[str, ...]:
    """Return who is named, in the order in which they are."""
    return tuple(dict.fromkeys(pair.assessor for pair in pairs))


def samples_of(pairs: Sequence[Assigned]) -> tuple[str, ...]:
    """Return what is named, in the order in which it is."""
    return tuple(dict.fromkeys(pair.sample for pair in pairs))


def by_assessor(pairs: Sequence[Assigned]) -> Mapping[str, tuple[str, ...]]:
    """Return the samples of each."""
    return {
        who: tuple(dict.fromkeys(pair.sample for pair in pairs if pair.assessor == who))
        for who in people_of(pairs)
    }


def all_to_all(pairs: Sequence[Assigned]) -> bool:
    """Say whether everybody named gets everything named."""
    return len(set(pairs)) == len(people_of(pairs)) * len(samples_of(pairs))


def assigned_faults(
    pairs: Sequence[Assigned],
    assessors: Sequence[str],
    samples: Sequence[str],
    *,
    compared: bool = True,
) -> Iterator[str]:
    """Give everything that is wrong with pairs beside the people and samples of a plan.

    Where samples are not `compared` with one another, nobody has to link them.
    """
    for pair, count in Counter(pairs).items():
        if count > 1:
            yield (
                f"{pair.sample!r} stands {count} times for {pair.assessor!r}: a second glass of a "
                "sample is a duplicate, which planning adds blind."
            )
    people, things = people_of(pairs), samples_of(pairs)
    yield from _strangers("assessor", people, assessors)
    yield from _strangers("sample", things, samples)
    for who in assessors:
        if who not in people:
            yield f"Assessor {who!r} gets no sample: assign some, or leave {who} out."
    for sample in samples:
        if sample not in things:
            yield f"Nobody gets the sample {sample!r}: assign it, or leave it out."
    if compared and people and things and not _meet(pairs):
        yield from _apart(pairs)


def _strangers(what: str, named: Sequence[str], known: Sequence[str]) -> Iterator[str]:
    for name in named:
        if name not in known:
            yield f"A glass is assigned to the {what} {name!r}, who or which is not in the plan."


def groups_that_meet(pairs: Sequence[Assigned]) -> list[tuple[str, ...]]:
    """Return the samples in groups: two of a group stand on one tray, or are tied by others."""
    groups: list[set[str]] = []
    for samples in by_assessor(pairs).values():
        tied = [group for group in groups if group & set(samples)]
        groups = [group for group in groups if group not in tied]
        groups.append(set(samples).union(*tied))
    order = samples_of(pairs)
    return [tuple(name for name in order if name in group) for group in groups]


def _meet(pairs: Sequence[Assigned]) -> bool:
    return len(groups_that_meet(pairs)) == 1


def _apart(pairs: Sequence[Assigned]) -> Iterator[str]:
    groups = groups_that_meet(pairs)
    listed = "; ".join(_some(group) for group in groups)
    yield (
        f"The samples fall into {len(groups)} groups that no assessor links ({listed}): they could "
        "not be compared. Give somebody samples of both."
    )


def _some(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more
