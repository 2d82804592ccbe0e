"""Sentences on a session, and on a panel too small to judge anybody."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...counted import count
from ..settings import AgreementSettings
from .words import AT_THE_REVEAL, ONE_MIND_ACTION, OWN_ORDER, PanelWord, Verdict, listed, points


@dataclass(frozen=True)
class SmallPanelFacts:
    """What a panel too small to judge anybody can still do; distances in points."""

    n_assessors: int
    names: tuple[str, ...]
    repeats_within: Mapping[str, float]
    repeaters: tuple[str, ...]
    seen_difference: float | None
    hidden: bool = False


def small_panel_verdict(facts: SmallPanelFacts, settings: AgreementSettings) -> Verdict[PanelWord]:
    """Say who repeats, the smallest difference this panel can see and what that is good for."""
    who = _who_repeats(facts)
    if facts.seen_difference is None:
        sentence = f"A panel of {facts.n_assessors}: {who}; what it can tell apart is not known"
        return Verdict(PanelWord.TOO_LITTLE, sentence, "pour at least six samples next time")
    seen = facts.seen_difference
    sentence = (
        f"A panel of {facts.n_assessors}: {who}; on the middle note it sees a difference of "
        f"{points(seen)} four times in five"
    )
    if seen <= settings.tolerance:
        use = f"choose between casks {points(seen)} apart or more; nearer ones it cannot tell"
    elif seen <= _COARSE * settings.tolerance:
        use = "pick out the extremes and a faulty cask; do not rank casks that lie close"
    else:
        use = "use it to find a cask that is plainly off, and ask two more assessors for the rest"
    return Verdict(PanelWord.SECOND_LOOK, sentence, use)


_COARSE = 2.5
"""So many times the tolerance is still less than the distance between a style and its opposite."""


def _who_repeats(facts: SmallPanelFacts) -> str:
    if not facts.repeats_within and facts.hidden:
        return "who repeats is told from the reveal on"
    if not facts.repeats_within:
        return "hardly a glass was nosed twice, so it is not known who repeats"
    named = [
        f"{name} within {points(facts.repeats_within[name])}"
        for name in facts.names
        if name in facts.repeaters
    ]
    if not named:
        closest = min(facts.repeats_within.values())
        return f"nobody repeats closer than {points(closest)}"
    verb = "repeats" if len(named) == 1 else "repeat"
    return f"{listed(named)} {verb}"


def session_verdict(
    session: str,
    descriptors: Sequence[tuple[str, PanelWord]],
    n_assessors: int,
    small_panel: int,
    *,
    await_reveal: bool = False,
) -> Verdict[PanelWord]:
    """Sum up a session in one line from each descriptor's name and word.

    `await_reveal` says that nothing is lacking but what only the reveal tells.
    """
    names: dict[PanelWord, list[str]] = {word: [] for word in PanelWord}
    for name, word in descriptors:
        names[word].append(name)
    order = [
        (PanelWord.SAFE, str(PanelWord.SAFE)),
        (PanelWord.SECOND_LOOK, "to act on with a second look"),
        (PanelWord.ALIKE, "on which the casks are alike"),
        (PanelWord.ONE_MIND, "of one mind, with no error to reckon by"),
        (PanelWord.CANNOT_TELL, "that cannot be told yet"),
        (PanelWord.ORDER, "on which order and cask cannot be told apart"),
        (PanelWord.CAMPS, "read in two camps"),
        (PanelWord.DO_NOT, "not to act on"),
        (PanelWord.TOO_LITTLE, "with too little yet"),
    ]
    parts = [f"{len(names[word])} {said}" for word, said in order if names[word]]
    word = _session_word(names)
    small = f" by {n_assessors} assessors only" if n_assessors < small_panel else ""
    sentence = f"Session {session}, {count(len(descriptors), 'note')}{small}: {', '.join(parts)}"
    if await_reveal and word is PanelWord.TOO_LITTLE:
        return Verdict(word, sentence, AT_THE_REVEAL)
    return Verdict(word, sentence, _session_action(word, names))


def _session_word(names: dict[PanelWord, list[str]]) -> PanelWord:
    total = sum(len(part) for part in names.values())
    for word in (PanelWord.ORDER, PanelWord.TOO_LITTLE, PanelWord.ONE_MIND):
        if len(names[word]) * 2 > total:
            return word
    usable = sum(len(names[word]) for word in _USABLE)
    if names[PanelWord.SAFE] and usable * 2 > total:
        return PanelWord.SAFE
    if names[PanelWord.SAFE] or names[PanelWord.SECOND_LOOK]:
        return PanelWord.SECOND_LOOK
    if len(names[PanelWord.ALIKE]) * 2 > total:
        return PanelWord.ALIKE
    cannot = sum(len(names[word]) for word in _UNSAID)
    return PanelWord.CANNOT_TELL if cannot * 2 >= total else PanelWord.DO_NOT


_USABLE = (PanelWord.SAFE, PanelWord.ALIKE, PanelWord.ONE_MIND)
_UNSAID = (PanelWord.CANNOT_TELL, PanelWord.ALIKE, PanelWord.ONE_MIND)
"""Notes that are none the worse for it."""


def _first(names: list[str]) -> str:
    """The first three, and that there are others."""
    return f"{', '.join(names[:3])} and others" if len(names) > 3 else listed(names)


_INSTEAD = {
    PanelWord.ORDER: OWN_ORDER,
    PanelWord.ONE_MIND: ONE_MIND_ACTION,
    PanelWord.TOO_LITTLE: "pour at least six samples and two blind duplicates next time",
}


def _session_action(word: PanelWord, names: dict[PanelWord, list[str]]) -> str:
    if word in _INSTEAD:
        return _INSTEAD[word]
    doubtful = [*names[PanelWord.CAMPS], *names[PanelWord.DO_NOT]]
    if doubtful:
        return f"leave {_first(doubtful)} aside"
    if names[PanelWord.SECOND_LOOK]:
        return f"look twice at {_first(names[PanelWord.SECOND_LOOK])}"
    if word is PanelWord.ALIKE:
        return "choose between these casks by something else"
    if word is PanelWord.CANNOT_TELL:
        return "nose the flight again before deciding by it"
    return "use the means"
