"""Every sentence that is said of passing, in one place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from .result import CaskFound, FamilyWord, NowWord, PassState
from .shares import Share

if TYPE_CHECKING:
    from .result import (
        FamilyFound,
        MorningsFound,
        NoseFound,
        PassingFound,
        SoundFound,
        StandsNow,
        TrueHolds,
    )

PLANTED_APART = "What was planted is not counted among the casks: it says nothing of the stock."
MOST_NAMED = 6
DO_NOT_EMPTY = "Do not empty what is held or to nose again (`oakpanel passing slips`)."


def interval(share: Share) -> str:
    """Return an interval as it stands in a sentence, in 100.

    Examples
    --------
    >>> from .shares import share_of
    >>> interval(share_of(5, 6)), interval(share_of(1, 6))
    ('36 to 100 in 100', '0 to 64 in 100')
    """
    if share.low is None or share.high is None:
        return "no interval"
    return f"{100 * share.low:.0f} to {100 * share.high:.0f} in 100"


def counts_sentence(found: PassingFound) -> str:
    """Return how many casks stood where that day."""
    stays = sum(cask.stays for cask in found.casks if cask.state is PassState.PASSED)
    still = f" ({stays} of them still on do-not-empty)" if stays else ""
    counts = f"{found.passed} passed{still}, {found.again} to nose again, {found.held} held"
    return f"{counts}, {found.nobody} nosed by nobody." if found.nobody else f"{counts}."


def nobody_sentences(samples: Sequence[str]) -> Iterator[str]:
    """Name the samples of which nobody finished a glass, where there are any.

    Examples
    --------
    >>> list(nobody_sentences(["D2", "D3"]))
    ['Nosed by nobody, so neither passed nor held: 2 (D2, D3).']
    """
    if samples:
        yield f"Nosed by nobody, so neither passed nor held: {len(samples)} ({named(samples)})."


def named(samples: Sequence[str]) -> str:
    """Return samples by name, the first few where there are many.

    Examples
    --------
    >>> named(["D2", "D3"])
    'D2, D3'
    """
    more = " ..." if len(samples) > MOST_NAMED else ""
    return ", ".join(samples[:MOST_NAMED]) + more


def nose_sentence(nose: NoseFound) -> str:
    """Return what one nose caught and stopped, with exact intervals."""
    if nose.left_out is not None:
        return f"{nose.assessor}: {nose.left_out}"
    return f"{nose.assessor} {_caught(nose)} and {_stopped(nose.stopped)}."


def _caught(nose: NoseFound) -> str:
    share = nose.caught
    if not share.of:
        return "met no planted fault"
    rightly = f", {nose.named} by the right name," if share.hits else ""
    return f"caught {share.hits} of {share.of} planted faults ({interval(share)}){rightly}"


def _stopped(share: Share) -> str:
    if not share.of:
        return "met no known-sound glass"
    return f"stopped {share.hits} of {share.of} known-sound ({interval(share)})"


def morning_sentences(found: PassingFound) -> Iterator[str]:
    """Give what is said of a session: counts, noses, each cask that was not passed, what to do."""
    yield counts_sentence(found)
    yield from map(nose_sentence, found.noses)
    for nose in found.noses:
        if nose.repeated.of and nose.left_out is None:
            yield (
                f"{nose.assessor} answered {nose.repeated.hits} of {nose.repeated.of} casks that "
                "came twice alike."
            )
    yield from sound_sentences(found.sound)
    yield from nobody_sentences(
        [cask.sample for cask in found.casks if cask.state is PassState.NOBODY]
    )
    yield from (cask_sentence(cask) for cask in found.casks if cask.held_by or cask.now)
    if any(cask.waits for cask in found.casks):
        yield (
            "A hold is no fault until a second nose that does not know of it repeats it: "
            f"`oakpanel session plan NAME --again {found.session}` lays that out."
        )
    if any(cask.stays for cask in found.casks):
        yield DO_NOT_EMPTY
    yield PLANTED_APART


def cask_sentence(cask: CaskFound) -> str:
    """Return what was said of one cask that was not passed, and how it stands now."""
    faults = ", ".join(cask.faults)
    by = cask.held_by + cask.held_before
    noses = "one nose" if by == 1 else f"{by} noses"
    why = f": {faults}, held by {noses}" if cask.held_by else ""
    if cask.now is None or _as_found(cask, cask.now):
        return f"{cask.cask} ({cask.sample}) is {cask.state.value}{why}."
    return (
        f"{cask.cask} ({cask.sample}) was {cask.state.value} that day{why}. "
        f"Now {_now(cask.cask, cask.now)}."
    )


_WORDS = {PassState.HELD: NowWord.HELD, PassState.AGAIN: NowWord.AGAIN}


def _as_found(cask: CaskFound, now: StandsNow) -> bool:
    """Tell whether nothing came after the session, nor before it."""
    alike = _WORDS.get(cask.state) is now.word and now.noses == cask.held_by
    return alike and len(now.sessions) == 1 and not now.passed_in


def _now(cask: str, now: StandsNow) -> str:
    if now.word is NowWord.LIFTED:
        return f"the hold is lifted, on {now.lifted_on}"
    if now.word is NowWord.OTHERWISE:
        return f"it is {now.word.value}: {now.reason}"
    if not now.passed_in:
        return f"it is on do-not-empty: {now.reason}"
    return (
        f"it is still on do-not-empty ({now.reason}) and was passed since in "
        f"{' and '.join(now.passed_in)}: somebody else than who held it may lift the hold "
        f"(`oakpanel passing lift {cask}`)"
    )


def family_sentence(family: FamilyFound) -> str:
    """Return whether noses were seen to catch a family of faults."""
    poured = f"{family.caught.hits} of {family.caught.of}"
    if family.word is FamilyWord.SHOWN:
        rightly = f"{family.named} by the right name"
        return f"{family.family}: caught {poured} ({interval(family.caught)}), {rightly}."
    less = ""
    if family.caught.hits:
        less = f", which may be by chance, and {family.named} by the right name"
    return f"{family.family}: not shown; caught {poured}{less}. A pass says nothing of it."


def sound_sentences(sound: Sequence[SoundFound]) -> Iterator[str]:
    """Name what was poured as known sound and was held every time, more than once."""
    for one in sound:
        if one.each_time:
            yield (
                f"{one.sample}, poured as known sound, was stopped {one.stopped} of {one.of}: nose "
                "it as any other before it is taken as sound again."
            )


def not_planted_sentence(families: Sequence[FamilyFound]) -> str:
    """Return that nobody can know whether noses catch these, since none was planted."""
    them = "it" if len(families) == 1 else "them"
    names = ", ".join(family.family for family in families)
    return f"{names}: not shown; none was planted. A pass says nothing of {them}."


def holds_sentence(holds: TrueHolds) -> str:
    """Return what share of single holds is likely true, or why nobody can say."""
    if holds.low is None or holds.high is None:
        return f"What share of holds is likely true: {holds.reason}."
    return (
        f"Of {holds.held} holds by one nose between {100 * holds.low:.0f} and "
        f"{100 * holds.high:.0f} in 100 are likely true ({holds.mornings} mornings, {holds.casks} "
        "casks nosed)."
    )


def mornings_sentences(found: MorningsFound) -> Iterator[str]:
    """Give what is said of many mornings."""
    since = f" since {found.since}" if found.since else ""
    count = "1 morning" if found.mornings == 1 else f"{found.mornings} mornings"
    yield f"{count} of passing{since}."
    yield from map(nose_sentence, found.noses)
    yield from sound_sentences(found.sound)
    yield holds_sentence(found.true_holds)
    yield f"Families of faults planted since {found.families_since}:"
    yield from (family_sentence(family) for family in found.families if family.caught.of)
    if never := [family for family in found.families if not family.caught.of]:
        yield not_planted_sentence(never)
    yield PLANTED_APART
