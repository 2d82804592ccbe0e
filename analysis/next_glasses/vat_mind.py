"""What would change your mind about a vatting, in values: it has no cut between casks."""

from __future__ import annotations

from dataclasses import dataclass

from ..as_json import AsJson


@dataclass(frozen=True)
class PartHangs:
    """One part of a vatting, or its bench blend: how much hangs on it.

    Attributes
    ----------
    cask
        None for the bench blend.
    litres
        What goes in; None for the blend.
    share
        How much of the variance of the worst line is its own, by its litres: with what it shares
        with other parts counted to each by half. None for the blend.
    n_glasses
        Of it in the session.
    crosses
        Chance that these alone move the worst line over the nearer end of its tolerance.
    one_glass
        The same of the single glass of it that tells most, whether the session has one or not.
    moves
        Points by which that glass can be expected to move that line (standard deviation).
    assessor
        Whose glass that is.
    """

    cask: str | None
    litres: float | None
    share: float | None
    n_glasses: int
    crosses: float
    one_glass: float
    moves: float
    assessor: str


@dataclass(frozen=True)
class VatMind(AsJson):
    """What the next session could change about a vatting.

    Attributes
    ----------
    within
        Whether every line is expected to be within its tolerance.
    chance
        That every line is, as it is known now.
    turns
        Chance that the session turns that answer: moves what is expected of a line over its end,
        or of the last line that was out of it back in.
    note
        The worst line: on which deciding now costs most.
    note_chance, if_better, if_worse
        Chance that this line is within, now and after the session, should it find the line better
        or worse by one standard deviation of what it can be expected to say.
    rule_share, panel_share
        Of the variance of that line, what the rule of mixing and the panel as a whole may be off.
        With the shares of the parts they make one.
    parts
        The part that is most unsure first; the bench blend last.
    """

    within: bool
    chance: float
    turns: float
    note: str
    note_chance: float
    if_better: float
    if_worse: float
    rule_share: float
    panel_share: float
    parts: tuple[PartHangs, ...]

    @property
    def n_glasses(self) -> int:
        """Glasses of the session."""
        return sum(part.n_glasses for part in self.parts)

    json_also = ("n_glasses",)
