"""What a kept house answers otherwise now: named one by one, and what was meant to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatch
from typing import Any


@dataclass(frozen=True)
class Change:
    """What answers otherwise on purpose: where, by how much at most, and why."""

    where: str
    within: float
    why: str

    def covers(self, before: Any, now: Any) -> bool:
        """Say whether a difference is no greater than was meant."""
        if math.isinf(self.within):
            return True
        return all(map(_is_number, (before, now))) and abs(before - now) <= self.within


LEAK = "a leaking cask is not ranked: W04 leaks, and no repair is recorded"
LACKS = "a note that many glasses lack (hearth smoke) is fitted as such; the others hardly move"
TOPPED = "a cask that was topped from nobody knows what (W09) has no age that is recorded"
TOGETHER = "a word on a person holds over all notes together, judged by the others alone"
SPAN = "casks are alike by the span of their means, not by what the panel would have seen"
NEAR = "how near somebody repeats goes by all notes together, not by the middle one"
AS_OF_A_DAY = (
    "a vatting stands on notes, litres and strength as of its day, no longer on the last draw and "
    "the last gauge, so that other casks are chosen"
)
ORDER = "place on the tray and the smoke before it are terms of an agreement, drawn to nothing"
SERVED = "place on the tray and the smoke before it are terms of the profile too, drawn to nothing"
ONE_ORDER = "the archive was served in one order to everybody"
LEVELS = "levels of the noise are cut from the scores alone, so that a fit ends where it ends"
SINCE_0001 = (
    Change("agreement archive/assessors/*/correlation", 0.2, TOGETHER),
    Change("agreement archive/assessors/*/reason", math.inf, TOGETHER),
    Change("agreement over all/assessors/*/notes/wet slate/*", math.inf, TOGETHER),
    Change("agreement winter-2/assessors/*/next_action", math.inf, TOGETHER),
    Change("agreement */assessors/*/sentence", math.inf, TOGETHER),
    Change("agreement */assessors/*verdict", math.inf, TOGETHER),
    Change("agreement winter-2/small_panel/repeats_within/*", 3, ORDER),
    Change("agreement winter-2/small_panel/*", math.inf, NEAR),
    Change("agreement over all/descriptors/wet slate/sentence", math.inf, SPAN),
    Change("agreement over all/descriptors/wet slate/verdicts/*", math.inf, SPAN),
    Change("agreement over all/sessions/winter-?/sentence", math.inf, SPAN),
    Change("agreement winter-?/descriptors/wet slate/next_action", math.inf, SPAN),
    Change("agreement winter-?/descriptors/wet slate/sentence", math.inf, SPAN),
    Change("agreement winter-?/descriptors/wet slate/verdict", math.inf, SPAN),
    Change("agreement winter-?/sentence", math.inf, SPAN),
    Change("vat *", math.inf, AS_OF_A_DAY),
    Change("agreement over all/assessors/*", math.inf, ONE_ORDER),
    Change("agreement over all/*sentence", math.inf, ONE_ORDER),
    Change("agreement over all/*next_action", math.inf, ONE_ORDER),
    Change("agreement over all/*verdict", math.inf, ONE_ORDER),
    Change("agreement archive/*sentence", math.inf, ONE_ORDER),
    Change("agreement archive/*next_action", math.inf, ONE_ORDER),
    Change("agreement archive/*verdict", math.inf, ONE_ORDER),
    Change("agreement winter-?/*sentence", math.inf, ORDER),
    Change("agreement winter-?/*next_action", math.inf, ORDER),
    Change("agreement winter-?/*/*verdict", math.inf, ORDER),
    Change("agreement winter-?/*/reason", math.inf, ORDER),
    Change("agreement winter-?/descriptors/*/note", math.inf, ORDER),
    Change("agreement winter-?/descriptors/*/method", math.inf, ORDER),
    Change("agreement */means/*", 7, ORDER),
    Change("agreement */icc*", 1.4, ORDER),
    Change("agreement */reliability*", 0.4, ORDER),
    Change("agreement */repeat*sd", 2.1, ORDER),
    Change("agreement */f", 45, ORDER),
    Change("agreement */descriptors/*", 15, ORDER),
    Change("agreement */repeats_within/*", 3, ORDER),
    Change("agreement */assessors/*", 11, ORDER),
    Change("match */casks/W04 *", math.inf, LEAK),
    Change("match */left_out/W04 *", math.inf, LEAK),
    Change("match */n_ranked", 1, LEAK),
    Change("match */sentence", math.inf, LEAK),
    Change("match */best_is_best", 0.1, LACKS),
    Change("match */casks/*/distance", 0.22, SERVED),
    Change("match */casks/*", 0.2, LACKS),
    Change("profile/fits/*/level_*", math.inf, LEVELS),
    Change("profile/fits/hearth smoke/*", math.inf, LACKS),
    Change("profile/assessors/* hearth smoke/*", 1.2, LACKS),
    Change("profile/samples/* W09 */age_years", math.inf, TOPPED),
    Change("profile/samples/* hearth smoke/*", 3.1, LACKS),
    Change("profile/samples/*", 2.1, SERVED),
    Change("profile/assessors/*", 0.5, SERVED),
    Change("profile/fits/*/reliability", 0.03, SERVED),
    Change("profile/fits/*/level_*", 1, SERVED),
    Change("profile/fits/hearth smoke/*", 5, SERVED),
    Change("profile/fits/*/rounds", 5, SERVED),
    Change("profile/fits/*", 2.7, SERVED),
)
SEATED = "over several sessions the reliability is that of five, who sit together, not of all seven"
TAKEN = "what was taken out of a cask since its gauge loses nothing more in it"
PRIVATE = "how single people use the line is asked with a lead's PIN (`--private`)"
SINCE_0004: tuple[Change, ...] = (Change("profile/assessors", math.inf, PRIVATE),)
SINCE_0002: tuple[Change, ...] = (
    Change("vat Millrace in parts/*", math.inf, LEVELS),
    Change("vat */worst_descriptor", math.inf, LEVELS),
    Change("match */sentence", math.inf, LEVELS),
    Change("match */best_is_best", 0.06, LEVELS),
    Change("agreement winter-?/descriptors/*/reliability_over_sessions*", 0.02, LEVELS),
    Change("agreement over all/descriptors/*/reliability_over_sessions*", 0.15, LEVELS),
    Change("agreement */assessors/*/sentence", math.inf, LEVELS),
    Change("agreement */assessors/*", 0.05, LEVELS),
    Change("profile/fits/*", math.inf, LEVELS),
    Change("profile/assessors/*", 0.6, LEVELS),
    Change("profile/samples/*", 0.6, LEVELS),
    Change("match */casks/*", 0.05, LEVELS),
    Change("vat */*sentence", math.inf, TAKEN),
    Change("vat */stand_ins/*", math.inf, TAKEN),
    Change("vat */checks/*", math.inf, ONE_ORDER),
    Change("vat *", 3, TAKEN),
    Change("match */note", math.inf, ONE_ORDER),
    Change("profile/note", math.inf, ONE_ORDER),
    Change("agreement over all/descriptors/*/n_assessors", 2, SEATED),
    Change("agreement over all/descriptors/*/reliability_over_sessions*", 0.08, SEATED),
    Change("agreement over all/descriptors/*/seen_difference", 1.4, SEATED),
    Change("agreement over all/descriptors/*/sentence", math.inf, SEATED),
    Change("agreement over all/descriptors/wet slate/verdict", math.inf, SEATED),
    Change("agreement over all/descriptors/wet slate/next_action", math.inf, SEATED),
)
FARTHER = "a step of the fit that went too far lets the next ones go farther again"
SUREST = "the surest answer comes first, and a limit that does not bind costs nothing"
SINCE_0003: tuple[Change, ...] = (
    Change("vat */quality_sentence", math.inf, SUREST),
    Change("vat */answers/[34]/*", math.inf, SUREST),
    Change("vat */prices/*/limit", math.inf, SUREST),
    Change("vat */prices/*/kind", math.inf, SUREST),
    Change("vat */prices/*/sentence", math.inf, SUREST),
    Change("vat */tightening/*/probability", 0.005, SUREST),
    Change("profile/fits/*/rounds", 10, FARTHER),
    Change("profile/fits/*/variances/*", 0.06, FARTHER),
)
WHILE = "what a limit costs is searched for as long as a search may last, on a machine as it is"
RESTS = "a fit with scores at the ends goes on until all that a creep has to go is little"
SETTLED: tuple[Change, ...] = (
    Change("profile/fits/hearth smoke/rounds", 10, RESTS),
    Change("profile/fits/hearth smoke/*", 0.06, RESTS),
    Change("profile/samples/* hearth smoke/*", 0.02, RESTS),
    Change("match */casks/*/probability", 0.06, RESTS),
    Change("vat */reach/lines/hearth smoke/*", 0.02, RESTS),
    Change("vat */prices/*/excess_without", 0.002, WHILE),
)
SUMS = "whether anybody moves goes by sums of evidence over all glasses, from ten sessions on"
ROOT = (
    "how far apart like casks may lie is drawn four times as often, and by the symmetric root of "
    "their errors, which is the same on every machine"
)
CUTS = "glasses that few had are no class of an order by themselves"
SINCE_0005: tuple[Change, ...] = (
    Change("agreement over all/*drift*", math.inf, SUMS),
    Change("agreement */alike_below", 0.7, ROOT),
    Change("agreement */at_most_apart", 1.2, ROOT),
    Change("agreement */descriptors/wet slate/sentence", math.inf, ROOT),
    Change("agreement winter-3/order/sentence", math.inf, CUTS),
)
BY_WORK = (
    "a search for a vatting ends by counts of work and goes by another linear program: the first "
    "answers are the same, of later ones that are as sure others are found"
)
ENDS_BY_WORK: tuple[Change, ...] = (
    Change("vat Millrace in parts/answers/[234]/*", math.inf, BY_WORK),
    Change("vat Millrace in parts/quality_sentence", math.inf, BY_WORK),
    *(Change(f"vat Millrace in parts/{name}", math.inf, BY_WORK) for name in ("kappa", "method")),
    *(Change(f"vat Millrace in parts/{name}", 5.0, BY_WORK) for name in ("objective", "bound")),
)
NEXT_SESSION = (
    "whether nosing on pays is no matter of a list: the next session says it, for match too"
)
BOTH_WAYS = "an own word's chance is of the map and of its own scores, the larger one"
AFTER_SMOKE = "a plan itself pours an unpeated glass again after the smoke, and the advice says so"
BY_ALL_VISITS = "what no two samples differ by more than is said to be by all visits to them"
SPREAD = "the chances of match read how the casks of the house are spread, no longer a normal"
LATELY: tuple[Change, ...] = (
    Change("match */casks/*/distance", 0.4, SPREAD),
    *(Change(f"match */{name}", math.inf, NEXT_SESSION) for name in ("sentence", "next_action")),
    Change("agreement winter-words/words/*", math.inf, BOTH_WAYS),
    Change("agreement winter-[13]/descriptors/wet slate/sentence", math.inf, BY_ALL_VISITS),
    Change("agreement winter-?/order/sentence", math.inf, AFTER_SMOKE),
    Change("agreement winter-?/order/next_action", math.inf, AFTER_SMOKE),
)
"""What has changed since the house of a revision was kept."""
SPREAD_READ: tuple[Change, ...] = (
    Change("match */best_is_best", 0.06, SPREAD),
    Change("match */first_hold_best", 0.06, SPREAD),
    Change("match */n_distinguishable", 3, SPREAD),
    Change("match */casks/*/probability", 0.08, SPREAD),
)
CHANGED: dict[str, tuple[Change, ...]] = {
    "0001": (
        *LATELY,
        *SINCE_0005,
        *SINCE_0001,
        *SINCE_0002,
        *SINCE_0003,
        *SINCE_0004,
        *SETTLED,
        *SPREAD_READ,
    ),
    "0002": (*LATELY, *SINCE_0005, *SINCE_0002, *SINCE_0003, *SINCE_0004, *SETTLED, *SPREAD_READ),
    "0003": (*LATELY, *ENDS_BY_WORK, *SINCE_0005, *SINCE_0003, *SINCE_0004, *SETTLED, *SPREAD_READ),
    "0004": (*LATELY, *ENDS_BY_WORK, *SINCE_0005, *SINCE_0004, *SETTLED, *SPREAD_READ),
    "0005": (*LATELY, *ENDS_BY_WORK, *SINCE_0005, *SETTLED, *SPREAD_READ),
    "0006": (
        *LATELY,
        Change("vat Lantern/tightening/3/*", math.inf, WHILE),
        *SPREAD_READ,
    ),
    "0007": (*LATELY, *SPREAD_READ),
    "0008": (*LATELY, *SPREAD_READ),
    "0009": (*LATELY, *SPREAD_READ),
    "0010": (*LATELY, *SPREAD_READ),
}
"""All that has changed since, by the revision of a house; the first that names a place counts.

What changed before comes first: a place that changed twice stands there for both. The charts stand
before all: nothing in them is what it was.
"""
NEVER_THE_SAME = ("*/solver_seconds", "*/tightening/*/seconds")
CLOSE = 1e-3
"""Numbers that differ by less, of themselves or of one, are the same."""
NAMES = ("sample", "cask", "assessor", "descriptor", "session")
GONE = "nothing"


def differences(before: Any, now: Any, where: str, changed: Sequence[Change]) -> Iterator[str]:
    """Name what answers otherwise, less what *changed* names. Keys may come; none may go."""
    if any(fnmatch(where, pattern) for pattern in NEVER_THE_SAME):
        return
    if isinstance(before, dict) and isinstance(now, dict):
        yield from _of_dicts(before, now, where, changed)
    elif isinstance(before, list) and isinstance(now, list):
        yield from _of_lists(before, now, where, changed)
    elif not (_alike(before, now) or meant(before, now, where, changed)):
        yield f"{where}: {before!r} is now {now!r}"


def meant(before: Any, now: Any, where: str, changed: Sequence[Change]) -> bool:
    """Say whether it is on purpose that *where* answers otherwise."""
    named = (change for change in changed if fnmatch(where, change.where))
    first = next(named, None)
    return first is not None and first.covers(before, now)


def _of_dicts(
    before: Mapping[str, Any], now: Mapping[str, Any], where: str, changed: Sequence[Change]
) -> Iterator[str]:
    for key, one in before.items():
        yield from differences(one, now.get(key, GONE), f"{where}/{key}", changed)


def _of_lists(
    before: Sequence[Any], now: Sequence[Any], where: str, changed: Sequence[Change]
) -> Iterator[str]:
    named, named_now = _by_name(before), _by_name(now)
    for key, one in named.items():
        yield from differences(one, named_now.get(key, GONE), f"{where}/{key}", changed)
    for key in named_now.keys() - named.keys():
        yield from differences(GONE, named_now[key], f"{where}/{key}", changed)


def _by_name(items: Sequence[Any]) -> dict[str, Any]:
    """Return what a list holds by the names it is of, else by place."""
    names = [_name(item) for item in items]
    if len(set(names)) < len(names) or not all(names):
        names = [str(place) for place in range(len(items))]
    return dict(zip(names, items, strict=True))


def _name(item: Any) -> str:
    return (
        " ".join(str(item[key]) for key in NAMES if key in item) if isinstance(item, dict) else ""
    )


def _alike(before: Any, now: Any) -> bool:
    if isinstance(before, float) and _is_number(now):
        return math.isclose(before, now, rel_tol=CLOSE, abs_tol=CLOSE)
    return bool(before == now)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
