"""A target: what a release should smell and taste of."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from ..digits import in_digits
from ..errors import TargetError


@dataclass(frozen=True)
class TargetLine:
    """One descriptor of a target, in points of the 0-100 line.

    Attributes
    ----------
    descriptor
        Name of the descriptor.
    aim
        Score aimed at.
    tolerance
        Distance from the aim that is still right; above zero.
    weight
        How much the descriptor counts beside the others; zero or more.
    """

    descriptor: str
    aim: float
    tolerance: float
    weight: float = 1.0


@dataclass(frozen=True)
class Target:
    """A named set of lines.

    Raises
    ------
    TargetError
        With every fault: no line, a descriptor twice, an aim off the line, a tolerance that is
        not above zero, a negative weight, or no weight at all.

    Examples
    --------
    >>> Target("Orchard", (TargetLine("smoke", 120, 5),))
    Traceback (most recent call last):
    ...
    oakpanel.analysis.errors.TargetError: Target Orchard cannot be used. smoke: the aim 120 is not \
on the line, 0 to 100.
    """

    name: str
    lines: tuple[TargetLine, ...]

    def __post_init__(self) -> None:
        """Refuse a target that means nothing, all its faults at once."""
        faults = [fault for line in self.lines for fault in _faults(line)]
        names = [line.descriptor for line in self.lines]
        faults += [
            f"{name} is given {names.count(name)} times; keep one line."
            for name in dict.fromkeys(names)
            if names.count(name) > 1
        ]
        if not self.lines:
            faults.append("It has no line; give at least one descriptor with aim and tolerance.")
        elif not any(line.weight > 0 for line in self.lines):
            faults.append("Every weight is zero; give at least one line a weight.")
        if faults:
            raise TargetError(f"Target {self.name} cannot be used. " + " ".join(faults))


def _faults(line: TargetLine) -> list[str]:
    faults = []
    if not 0.0 <= line.aim <= 100.0:
        faults.append(
            f"{line.descriptor}: the aim {in_digits(line.aim, 'g')} is not on the line, 0 to 100."
        )
    if not (isfinite(line.tolerance) and line.tolerance > 0.0):
        faults.append(
            f"{line.descriptor}: the tolerance {in_digits(line.tolerance, 'g')} is not above zero."
        )
    if not (isfinite(line.weight) and line.weight >= 0.0):
        faults.append(
            f"{line.descriptor}: the weight {in_digits(line.weight, 'g')} is not zero or more."
        )
    return faults
