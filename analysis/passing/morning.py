"""One passing session: where each cask stands, and what each nose caught and stopped."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ..errors import FrameError
from .result import BlockFound, CaskFound, NoseFound, PassingFound, PassState, SoundFound, StandsNow
from .shares import share_of
from .verdict import morning_sentences

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = (
    *("session", "held_on", "assessor", "block", "sample", "cask", "replicate"),
    *("there_for", "family", "held", "faults", "status"),
)
CASK, SPIKE, SOUND = "cask", "spike", "sound"
THERE_FOR = (CASK, SPIKE, SOUND)
"""Why a glass stands there: a cask to pass, a planted fault, a known-sound one."""
FRAME = "passed glasses"
NOSES_FOR_HELD = 2
"""A hold is no fault until so many noses held the cask."""
KNEW_KEY = "knew_key"
LEFT_OUT = "had seen the key, so what was caught and stopped is not counted."


def check_glasses(glasses: pd.DataFrame) -> None:
    """Refuse a frame that is none of passing.

    Raises
    ------
    FrameError
        A column is missing, or a glass is there for nothing that is known.
    """
    missing = [name for name in COLUMNS if name not in glasses]
    if missing:
        raise FrameError(FRAME, [f"It lacks {', '.join(missing)}."])
    odd = sorted(set(glasses["there_for"]) - set(THERE_FOR))
    if odd:
        raise FrameError(FRAME, [f"there_for is {odd[0]!r}; it is one of {', '.join(THERE_FOR)}."])


def passing_found(
    glasses: pd.DataFrame,
    *,
    held_before: Mapping[str, int] | None = None,
    nosed_by_nobody: Mapping[str, str] | None = None,
    stands_now: Mapping[str, StandsNow] | None = None,
    noses_for_held: int = NOSES_FOR_HELD,
) -> PassingFound:
    """Return what one passing session came to.

    Parameters
    ----------
    glasses
        One row a finished glass: session, held_on, assessor, block (from 1), sample, cask,
        replicate, there_for (cask, spike, sound), family (of a spike), held (whether it was held),
        faults (those named, with ", " between), status.
    held_before
        By cask how many other noses held it before and were not cleared since.
    nosed_by_nobody
        By cask the sample of it that was planned, of which nobody finished a glass.
    stands_now
        By cask how it stands now, of those that were held or are on hold.
    noses_for_held
        How many noses have to hold a cask before it is held.

    Raises
    ------
    FrameError
        Columns are missing, the frame holds several sessions, or none.

    Notes
    -----
    Intervals are those of Clopper and Pearson. What is planted counts nowhere among the casks. A
    nose that had seen the key keeps its holds, since nobody empties a cask that somebody held, and
    is left out of what was caught and stopped.
    """
    check_glasses(glasses)
    names = list(dict.fromkeys(glasses["session"]))
    if len(names) != 1:
        raise FrameError(FRAME, [f"{len(names)} sessions stand in it; one is judged at a time."])
    nosed = _casks(glasses, held_before or {}, noses_for_held)
    left = [_not_nosed(cask, sample) for cask, sample in (nosed_by_nobody or {}).items()]
    now = stands_now or {}
    found_casks = [replace(cask, now=now.get(cask.cask)) for cask in (*nosed, *left)]
    casks = tuple(sorted(found_casks, key=lambda cask: cask.cask))
    states = [cask.state for cask in casks]
    found = PassingFound(
        session=str(names[0]),
        passed=states.count(PassState.PASSED),
        again=states.count(PassState.AGAIN),
        held=states.count(PassState.HELD),
        nobody=states.count(PassState.NOBODY),
        casks=casks,
        noses=noses_found(glasses),
        blocks=tuple(_blocks(glasses)),
        sound=tuple(sound_found(glasses)),
    )
    return replace(found, sentences=tuple(morning_sentences(found)))


def _casks(
    glasses: pd.DataFrame, before: Mapping[str, int], noses_for_held: int
) -> Iterator[CaskFound]:
    real = glasses[glasses["there_for"] == CASK]
    for cask, mine in real.groupby("cask", sort=True):
        held = mine[mine["held"]]
        held_by, held_before = held["assessor"].nunique(), before.get(str(cask), 0)
        yield CaskFound(
            cask=str(cask),
            sample=", ".join(dict.fromkeys(map(str, mine["sample"]))),
            state=_state(held_by, held_before, noses_for_held),
            noses=mine["assessor"].nunique(),
            held_by=held_by,
            held_before=held_before,
            faults=_named(list(held["faults"])),
        )


def _not_nosed(cask: str, sample: str) -> CaskFound:
    return CaskFound(cask, sample, PassState.NOBODY, 0, 0, 0, ())


def _state(held_by: int, held_before: int, noses_for_held: int) -> PassState:
    """A cask that nobody held this time is passed, whatever was said of it before."""
    if not held_by:
        return PassState.PASSED
    repeated = held_by + held_before >= noses_for_held
    return PassState.HELD if repeated else PassState.AGAIN


def _named(faults: Sequence[str]) -> tuple[str, ...]:
    return tuple(sorted({name for each in faults for name in str(each).split(", ") if name}))


def noses_found(glasses: pd.DataFrame) -> tuple[NoseFound, ...]:
    """Return what each nose caught of the planted faults and stopped of the known-sound.

    Examples
    --------
    >>> import pandas as pd
    >>> rows = [("m", None, "A1", 1, s, s, 1, t, f, h, "", "kept") for s, t, f, h in (
    ...     ("X1", "spike", "sulphur", True), ("X2", "spike", "sulphur", False),
    ...     ("K1", "sound", "", False))]
    >>> nose, = noses_found(pd.DataFrame(rows, columns=list(COLUMNS)))
    >>> (nose.caught.hits, nose.caught.of, nose.stopped.hits, nose.stopped.of)
    (1, 2, 0, 1)
    """
    return tuple(
        _nose(str(assessor), mine) for assessor, mine in glasses.groupby("assessor", sort=True)
    )


def _nose(assessor: str, mine: pd.DataFrame) -> NoseFound:
    counted = mine[mine["status"] != KNEW_KEY]
    spikes, sound = (counted[counted["there_for"] == why] for why in (SPIKE, SOUND))
    twice = counted[counted["there_for"] == CASK].groupby(["session", "cask"])["held"]
    alike = [answers.nunique() == 1 for _, answers in twice if len(answers) > 1]
    return NoseFound(
        assessor=assessor,
        casks=int(mine.loc[mine["there_for"] == CASK, "cask"].nunique()),
        caught=share_of(int(spikes["held"].sum()), len(spikes)),
        stopped=share_of(int(sound["held"].sum()), len(sound)),
        repeated=share_of(sum(alike), len(alike)),
        named=named_rightly(spikes),
        left_out=LEFT_OUT if counted.empty and not mine.empty else None,
    )


def named_rightly(spikes: pd.DataFrame) -> int:
    """Return on how many caught faults their own name stands among those that were named."""
    caught = spikes[spikes["held"]]
    pairs = zip(caught["family"], caught["faults"], strict=True)
    return sum(family in str(faults).split(", ") for family, faults in pairs)


def sound_found(glasses: pd.DataFrame) -> Iterator[SoundFound]:
    """Give each known-sound sample with how often it was held, of those who knew no key."""
    counted = glasses[(glasses["there_for"] == SOUND) & (glasses["status"] != KNEW_KEY)]
    for sample, mine in counted.groupby("sample", sort=True):
        yield SoundFound(str(sample), int(mine["held"].sum()), len(mine))


def _blocks(glasses: pd.DataFrame) -> Iterator[BlockFound]:
    for (assessor, block), mine in glasses.groupby(["assessor", "block"], sort=True):
        by = {why: mine[mine["there_for"] == why]["held"] for why in THERE_FOR}
        yield BlockFound(
            assessor=str(assessor),
            block=int(str(block)),
            passed=int((~by[CASK]).sum()),
            held=int(by[CASK].sum()),
            spikes=len(by[SPIKE]),
            caught=int(by[SPIKE].sum()),
            sound=len(by[SOUND]),
            stopped=int(by[SOUND].sum()),
        )
