"""What can go wrong in here, as one tree.

.. code-block:: text

    AnalysisError                  anything below; its text is fit for a panel lead to read
    +-- FrameError                 a frame that cannot be used; ``problems`` holds every fault
    +-- TooLittleError             not enough to compute anything at all
    |   +-- NoScoresError          nothing is left once void and warm-up glasses are out
    |   +-- OneAssessorError       agreement needs somebody to agree with
    |   +-- OneSampleError         agreement needs something to tell apart
    |   +-- TooFewSamplesError     own words need more glasses than a map has directions
    |   +-- NotTogetherError       two casks that no session has both of
    +-- NobodyError                an assessor who scored nothing in the session
    +-- SeveralSessionsError       one session was expected
    +-- TargetError                a target that cannot be used
    |   +-- UnknownDescriptorError it names a note the data has not; ``nearest`` helps
    +-- InputError                 a figure outside the range in which it means anything
    |   +-- UnknownNameError       a name that nothing here has; with the nearest that there are
    +-- FileError                  a file that cannot be read; ``problems`` holds every fault
    +-- UnlinkedError              two samples that no common glass ties together
    +-- FitError                   the numbers were in order, the fit was not found
    +-- StoppedError               whoever waited for it stopped it

A quantity that is merely undefined (all scores equal, no replicate) is no error: it comes back
as ``None`` with a reason.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from difflib import get_close_matches

LISTED = 10
"""Faults or names that a text lists at most."""


class AnalysisError(Exception):
    """Base of every error that analysis raises on purpose."""


class FrameError(AnalysisError):
    """A frame that cannot be used, with all its faults at once."""

    def __init__(self, frame: str, problems: Sequence[str]) -> None:
        self.frame = frame
        self.problems = tuple(problems)
        super().__init__(f"The {frame} frame cannot be used. " + " ".join(self.problems))


class TooLittleError(AnalysisError):
    """There is not enough to compute anything at all."""


NO_SCORE_YET = (
    "No score can be used: nothing was nosed yet, or no session of it was revealed. Nose at least "
    "two samples in one session, and reveal it."
)


class NoScoresError(TooLittleError):
    """No score is left to compute with."""

    def __init__(self, left_out: Mapping[str, int]) -> None:
        self.left_out = dict(left_out)
        some = {reason: count for reason, count in self.left_out.items() if count}
        listed = ", ".join(f"{count} {reason}" for reason, count in some.items())
        super().__init__(
            f"No score can be used. Left out: {listed}. Score at least two samples, or say which "
            "of these to keep."
            if listed
            else NO_SCORE_YET
        )


class OneAssessorError(TooLittleError):
    """Only one assessor scored."""

    def __init__(self, session: str, assessor: str) -> None:
        self.session, self.assessor = session, assessor
        super().__init__(
            f"Session {session} has test glasses of {assessor} alone: agreement needs at least two "
            "assessors. Let a second assessor nose the same glasses (references and the warm-up "
            "do not count)."
        )


class OneSampleError(TooLittleError):
    """Only one sample was scored."""

    def __init__(self, session: str, sample: str) -> None:
        self.session, self.sample = session, sample
        super().__init__(
            f"Session {session} has test scores of sample {sample} alone: there is nothing to "
            "tell apart. Pour at least two samples (references and the warm-up do not count)."
        )


class TooFewSamplesError(TooLittleError):
    """Too few samples to lay out on a map."""

    def __init__(self, session: str, n_samples: int, least: int) -> None:
        self.session, self.n_samples, self.least = session, n_samples, least
        had = "1 sample" if n_samples == 1 else f"{n_samples} samples"
        super().__init__(
            f"Session {session} has {had} that two assessors or more had in common: fewer than "
            f"{least} lie on any map. Pour at least six."
        )


class NotTogetherError(TooLittleError):
    """Two casks that were never nosed in one session."""

    def __init__(self, first: str, second: str) -> None:
        self.first, self.second = first, second
        super().__init__(
            f"No session asked about has test glasses of both {first} and {second}: across "
            "sessions the evening would be taken for the cask. Pour both in one session, or name "
            "the session that has them."
        )


class NobodyError(AnalysisError):
    """An assessor who is not in the session."""

    def __init__(self, session: str, assessor: str, there: Sequence[str]) -> None:
        self.session, self.assessor, self.there = session, assessor, tuple(there)
        super().__init__(
            f"{assessor} scored no test glass in session {session}. There were: "
            f"{', '.join(self.there)}."
        )


class SeveralSessionsError(AnalysisError):
    """More than one session where one was expected."""

    def __init__(self, sessions: Sequence[str]) -> None:
        self.sessions = tuple(sessions)
        shown = ", ".join(self.sessions[:5]) + (", ..." if len(self.sessions) > 5 else "")
        super().__init__(
            f"The scores hold {len(self.sessions)} sessions ({shown}): agreement is judged one "
            "session at a time. Give the one in question, and the others as `recent`."
        )


class TargetError(AnalysisError):
    """A target that cannot be used."""


class UnknownDescriptorError(TargetError):
    """A target names descriptors that no score has."""

    def __init__(self, target: str, nearest: Mapping[str, Sequence[str]]) -> None:
        self.target = target
        self.nearest = {name: tuple(found) for name, found in nearest.items()}
        parts = [
            f"{name!r} (nearest: {', '.join(found)})" if found else repr(name)
            for name, found in self.nearest.items()
        ]
        super().__init__(
            f"Target {target} names what was never scored: {'; '.join(parts)}. "
            f"{score_first(len(parts), misspelt=any(self.nearest.values()))}"
        )


def score_first(n: int, *, misspelt: bool) -> str:
    """Return what to do about so many notes that were never scored, as a sentence."""
    notes = "that note" if n == 1 else "those notes"
    if misspelt:
        return f"Correct the name, or score {notes} in a session first."
    return f"Score {notes} in a session first."


class UnlinkedError(AnalysisError):
    """Two samples that cannot be compared; the text says what would tie them."""


class FitError(AnalysisError):
    """A fit was not found although the data were in order."""


class StoppedError(AnalysisError):
    """A reckoning that was stopped before its end; nothing of it is kept."""

    def __init__(self) -> None:
        super().__init__("The reckoning was stopped.")


class InputError(AnalysisError):
    """A figure outside the range in which it means anything; the text says which and why."""


class UnknownNameError(InputError):
    """A name that nothing here has."""

    def __init__(self, what: str, given: str, there: Collection[str]) -> None:
        self.given, self.there = given, tuple(there)
        super().__init__(f"There is no {what} {given!r}.{nearest_words(given, there)}")


class FileError(AnalysisError):
    """A file that cannot be read, with all its faults at once."""

    def __init__(self, file: str, problems: Sequence[str]) -> None:
        self.file, self.problems = file, tuple(problems)
        shown = "".join(f"\n  {problem}" for problem in self.problems[:LISTED])
        more = len(self.problems) - LISTED
        rest = f"\n  and {more} more" if more > 0 else ""
        super().__init__(f"{file} cannot be read.{shown}{rest}")


def nearest_words(given: str, there: Collection[str]) -> str:
    """Say which names come nearest, as a sentence of its own; all where there are few."""
    names = {name.casefold(): name for name in there}
    close = get_close_matches(given.casefold(), list(names), n=3, cutoff=0.5)
    if close:
        return f" The nearest: {', '.join(names[name] for name in close)}."
    few = list(names.values())[:LISTED]
    more = ", ..." if len(names) > LISTED else ""
    return f" There are: {', '.join(few)}{more}." if few else ""
