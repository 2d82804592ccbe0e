"""One person over all notes together, before a single note is spoken of."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ..indices.layout import ScoreLayout
from ..settings import AgreementSettings
from ..verdict import AssessorWord
from .habits import Habits, OwnTold, Repeats, habits, pooled_scale
from .with_panel import Told, WithPanel, reads_with


@dataclass(frozen=True)
class Standing:
    """What holds for a person over all notes, and so may be said of one of them.

    Attributes
    ----------
    reading
        Whether the person reads with the panel.
    habits
        A wide or a narrow line, and steadiness.
    """

    reading: WithPanel = field(default_factory=WithPanel)
    habits: Habits = field(default_factory=Habits)

    def on_note(self, slope: float | None) -> AssessorWord | None:
        """The word on a note that the person follows; None for one who does not pass."""
        if not self.reading.passed:
            return None
        width = self.habits.width
        if width is None or slope is None or (slope > 1.0) is not (width is AssessorWord.WIDER):
            return AssessorWord.WITH
        return width

    def allowed(self, word: AssessorWord | None, scale: float | None) -> AssessorWord | None:
        """A note's word by the one model, as far as it holds for the person."""
        if word in _OF_THE_NOTE:
            return word
        if word is AssessorWord.UNSTEADY and self.habits.less_steady:
            return word
        return self.on_note(scale)


_OF_THE_NOTE = (None, AssessorWord.REVERSED, AssessorWord.FLAT)


def repeats_by_session(visits: Sequence[Sequence[ScoreLayout | None]]) -> list[Repeats]:
    """What came back in each session; `visits` holds the scores note by note."""
    return [
        Repeats.of([part for part in by if part is not None]) for by in zip(*visits, strict=True)
    ]


_ASTRAY = 0.5
"""Half a point for one of the others', and no pass: the mean of the others is better without."""


def read_by_note(told: OwnTold, settings: AgreementSettings) -> WithPanel:
    """Whether the person reads with the others; `told` holds each note session by session."""
    return reads_with(_by_session(told), settings)


def _by_session(told: OwnTold) -> list[list[Told]]:
    named = [
        [None if part is None else replace(part, note=str(at)) for part in parts]
        for at, parts in enumerate(told)
    ]
    return [[part for part in by if part is not None] for by in zip(*named, strict=True)]


def astray(told: Mapping[str, OwnTold], settings: AgreementSettings) -> frozenset[str]:
    """Who follows the others hardly, not at all or the other way round, all notes together.

    They are left out of what the others' lines are measured by; nothing is said of them by it.
    """
    found = set()
    for name, own in told.items():
        scale = pooled_scale(own)
        if scale is None or scale >= _ASTRAY:
            continue
        if not read_by_note(own, settings).passed:
            found.add(name)
    return frozenset(found)


def standing_of(
    name: str,
    told: OwnTold,
    repeats: Sequence[Repeats],
    settings: AgreementSettings,
    without: Collection[str] = (),
) -> Standing:
    """Pool one person over notes and sessions.

    `told` is the person's; `repeats` what came back in each session; lines are measured
    `without` these.
    """
    return Standing(
        reading=read_by_note(told, settings),
        habits=habits(name, told, repeats, settings, without),
    )


@dataclass(frozen=True)
class Stood:
    """One person over all notes: in this session alone, and with the last few."""

    tonight: Standing
    lately: Standing

    @classmethod
    def of(
        cls,
        name: str,
        told: OwnTold,
        repeats: Sequence[Repeats],
        settings: AgreementSettings,
        without: Collection[str] = (),
    ) -> Stood:
        """Pool this session, and all that are at hand; steadiness always over all.

        `told` holds, by note, the person beside the others in each session, this one first.
        """
        lately = standing_of(name, told, repeats, settings, without)
        if len(repeats) == 1:
            return cls(lately, lately)
        tonight = standing_of(name, [part[:1] for part in told], repeats[:1], settings)
        return cls(Standing(tonight.reading, lately.habits), lately)
