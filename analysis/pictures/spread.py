"""Moving signs apart that would stand on each other, as little as may be, in their order."""

from __future__ import annotations

from collections.abc import Sequence


def spread_apart(
    middles: Sequence[float], widths: Sequence[float], low: float, high: float
) -> list[float]:
    """Return middles moved so that no two signs overlap, all between `low` and `high`.

    Parameters
    ----------
    middles
        Rising, where each sign would stand.
    widths
        How wide each is. Where all of them are wider than the room, they stand close from `low` on.
    """
    groups: list[list[float]] = []  # sum of wished starts, width, signs: a block that touches
    starts: list[float] = []
    for middle, width in zip(middles, widths, strict=True):
        starts.append(middle - width / 2)
        groups.append([middle - width / 2, width, 1])
        while len(groups) > 1 and _start(groups[-2]) + groups[-2][1] > _start(groups[-1]):
            later = groups.pop()
            first = groups[-1]
            first[0] += later[0] - later[2] * first[1]
            first[1] += later[1]
            first[2] += later[2]
    return _laid_out(groups, widths, low, high)


def _start(group: Sequence[float]) -> float:
    return group[0] / group[2]


def _laid_out(
    groups: Sequence[Sequence[float]], widths: Sequence[float], low: float, high: float
) -> list[float]:
    starts = [_start(group) for group in groups]
    end = low
    for at, group in enumerate(groups):
        starts[at] = max(starts[at], end)
        end = starts[at] + group[1]
    limit = high
    for at in range(len(groups) - 1, -1, -1):
        starts[at] = max(min(starts[at], limit - groups[at][1]), low)
        limit = starts[at]
    found: list[float] = []
    place = iter(widths)
    for start, group in zip(starts, groups, strict=True):
        edge = start
        for _ in range(int(group[2])):
            width = next(place)
            found.append(edge + width / 2)
            edge += width
    return found
