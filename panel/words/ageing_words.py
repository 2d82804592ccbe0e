"""Ageing as lines of text: evidence first, then styles or casks, windows and a picture."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING

from analysis.age_words import age_figure
from analysis.ageing.result import Mark
from analysis.chance_words import chance
from panel.pictures.ageing import curve_cells
from panel.words.answers import INDENT, paragraph
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.ageing import Ageing, Curve, Point, Window

WINDOWS_SHOWN = 15
LEFT_OUT_SHOWN = 4
MOST_NAMED = 3


def ageing_lines(result: Ageing, width: int = 80) -> list[str]:
    """Return what is known of ageing: windows, curves, a picture, and what it rests on."""
    lines: list[str] = []
    for warning in result.warnings:
        lines += paragraph(warning, width)
    lines += window_lines(result, width)
    for cask, why in result.held_against.items():
        lines += paragraph(f"! {cask}: {why}.", width)
    casks = [curve for curve in result.curves if curve.cask is not None]
    styles = [curve for curve in result.curves if curve.cask is None]
    if casks:
        lines += cask_lines(result, casks, width)
    elif not result.windows:
        lines += style_lines(styles, result.moved_by_age, width)
    shown = _to_draw(result)
    if shown is not None:
        lines += ["", *picture_lines(shown, width)]
    if styles or casks:
        lines += evidence_lines(result, width)
    return [*lines, *left_out_lines(result, width)]


def window_lines(result: Ageing, width: int = 80) -> list[str]:
    """Return when casks meet targets, the best first."""
    lines: list[str] = []
    for target in dict.fromkeys(window.target for window in result.windows):
        every = [window for window in result.windows if window.target == target]
        able = [window for window in every if window.opens is not None]
        lines += [*paragraph(able_words(target, result), width), ""]
        some = every if len(every) <= WINDOWS_SHOWN else able[:WINDOWS_SHOWN]
        lines += _window_table(some)
        lines += window_notes(some, width)
        lines.append("")
    return lines


def able_words(target: str, result: Ageing) -> str:
    """Return how many casks meet a target, and by when."""
    every = [window for window in result.windows if window.target == target]
    able = [window for window in every if window.opens is not None]
    until = max((w.looked_until for w in every if w.looked_until), default=None)
    to = f" by {until:%Y-%m}" if until else ""
    count = "No cask" if not able else "1 cask" if len(able) == 1 else f"{len(able)} casks"
    verb = "meets" if len(able) <= 1 else "meet"
    return (
        f"{count} of {len(every)} {verb} {target} with a chance of half or more{to}, every note "
        f"within its tolerance; reckoned on {result.as_of}."
    )


def _window_table(windows: Sequence[Window]) -> list[str]:
    if not windows:
        return []
    headings = ("cask", "age", "now", "best", "on", "from", "until", "nosed", "worst note")
    return columns(headings, [window_cells(window) for window in windows])


def window_cells(window: Window) -> tuple[str, ...]:
    """Return when one cask meets its target, in the order of the table."""
    still = ">" if window.note else ""
    return (
        *(window.cask, age_figure(window.age_years)),
        "-" if window.now_chance is None else chance(window.now_chance),
        "-" if window.best_chance is None else chance(window.best_chance),
        f"{window.best_on:%Y-%m}" if window.best_on else "-",
        f"{window.opens:%Y-%m}" if window.opens else "-",
        f"{window.closes:%Y-%m}{still}" if window.closes else "-",
        *(f"{window.n_draws}x", window.worst_descriptor or "-"),
    )


def window_notes(windows: Sequence[Window], width: int = 80) -> list[str]:
    """Return why casks have no window, and what the signs of the table mean."""
    lines = []
    for window in windows:
        if window.reason and window.best_chance is None:
            lines += paragraph(f"{window.cask}: {window.reason}.", width)
    if any(window.note for window in windows):
        lines += paragraph(
            "> it may go on: nothing further is foretold. nosed: how many draws of the cask "
            "itself; 0x rests on its like alone.",
            width,
        )
    return lines


def cask_lines(result: Ageing, curves: Sequence[Curve], width: int = 80) -> list[str]:
    """Return each cask's notes now and to the end of what may be said."""
    lines: list[str] = []
    for cask in dict.fromkeys(curve.cask for curve in curves):
        mine = [curve for curve in curves if curve.cask == cask]
        lines.append(f"{cask} ({mine[0].style})")
        rows = [curve_row(curve, result) for curve in mine]
        lines += columns(("note", "now", "", "last draw", "then", "", "at", "nosed"), rows)
        lines.append("")
    told = any(curve.found_now is not None for curve in curves)
    return [*lines, *paragraph(LAST_DRAW_KEY, width)] if told else lines[:-1]


LAST_DRAW_KEY = (
    "now, then: by the cask's own curve, one note by itself, from all its draws and its like. last "
    "draw: what the last one was found to be, all notes together, moved to the day: `match`, `vat` "
    "and the dates above go by that, so the two differ."
)


def curve_row(curve: Curve, result: Ageing) -> tuple[str, ...]:
    """Return one note of a cask now and to the end of what may be said."""
    now = min(curve.points, key=lambda p: abs((p.on - result.as_of).days) if p.on else 0)
    known = [point for point in curve.points if point.known]
    if not known:
        return (curve.descriptor, "-", "", "-", "-", "", str(curve.outside), f"{curve.n_draws}x")
    last = known[-1]
    return (
        *(curve.descriptor, f"{now.estimate:.0f}", _span(now)),
        "-" if curve.found_now is None else f"{curve.found_now:.0f}",
        *(
            f"{last.estimate:.0f}",
            _span(last),
            f"{age_figure(last.age_years)} y",
            f"{curve.n_draws}x",
        ),
    )


def _span(point: Point) -> str:
    return f"{point.low:.0f} to {point.high:.0f}"


def style_lines(curves: Sequence[Curve], moved: Collection[str], width: int = 80) -> list[str]:
    """Return each style with the notes that rise and fall most over the ages nosed."""
    lines: list[str] = []
    for style in dict.fromkeys(curve.style for curve in curves):
        mine = [curve for curve in curves if curve.style == style]
        most = max(mine, key=lambda curve: curve.n_draws)
        casks = "1 cask" if most.n_casks == 1 else f"{most.n_casks} casks"
        again = f", {most.n_again} drawn again" if most.n_again else ""
        lines.append(f"{style}: {casks}{again}")
        lines += paragraph(moves(mine, moved), width, INDENT)
    return lines


def moves(curves: Sequence[Curve], moved: Collection[str]) -> str:
    """The notes that surely change most from the youngest to the oldest nosed.

    Only of those that age moves at all: of many curves some look clear by chance.
    """
    clear = surely_moving(curves, moved)
    clear.sort(key=lambda curve: -abs(_change(curve)))
    up = [curve for curve in clear if _change(curve) > 0][:MOST_NAMED]
    down = [curve for curve in clear if _change(curve) < 0][:MOST_NAMED]
    if not clear:
        return "nothing moves for certain"
    most = max(clear, key=lambda curve: curve.n_draws)
    first, last = _ends(most)
    words = [f"from {first.age_years:.0f} to {last.age_years:.0f} years"]
    words += [f"up: {', '.join(map(_move, up))}"] if up else []
    words += [f"down: {', '.join(map(_move, down))}"] if down else []
    return "; ".join(words)


def surely_moving(curves: Sequence[Curve], moved: Collection[str]) -> list[Curve]:
    """The curves of which a direction is said."""
    return [
        curve
        for curve in curves
        if curve.descriptor in moved and len(_known(curve)) > 1 and _is_clear(curve)
    ]


def _known(curve: Curve) -> list[Point]:
    return [point for point in curve.points if point.mark is Mark.NOSED]


def _ends(curve: Curve) -> tuple[Point, Point]:
    known = _known(curve)
    return known[0], known[-1]


def _change(curve: Curve) -> float:
    first, last = _ends(curve)
    return last.estimate - first.estimate


def _is_clear(curve: Curve) -> bool:
    """Whether the intervals at both ends lie apart: rather too strict than too lax."""
    first, last = _ends(curve)
    return first.high < last.low or last.high < first.low


def _move(curve: Curve) -> str:
    first, last = _ends(curve)
    return f"{curve.descriptor} {first.estimate:.0f} to {last.estimate:.0f}"


def _to_draw(result: Ageing) -> Curve | None:
    """The one curve worth a picture: of one style or cask, the note that moves most."""
    drawable = [curve for curve in result.curves if len(curve.points) > 1]
    whose = {(curve.style, curve.cask) for curve in drawable}
    if len(whose) != 1:
        return None
    able = [curve for curve in drawable if len(_known(curve)) > 1]
    return max(able, key=lambda curve: abs(_change(curve)), default=None)


def picture_lines(curve: Curve, width: int = 80) -> list[str]:
    """Return a curve's picture with its heading and key."""
    whose = f"cask {curve.cask}" if curve.cask else curve.style
    note = paragraph(f"({curve.note})", width) if curve.note else []
    return [
        *paragraph(f"{curve.descriptor}, {whose}, in points over age:", width),
        *note,
        *curve_cells(curve, width),
    ]


def evidence_lines(result: Ageing, width: int = 80) -> list[str]:
    """Return what the curves rest on; notes that rest on the same are named together."""
    lines: list[str] = []
    drawn = {curve.descriptor for curve in result.curves}
    told: dict[str, list[str]] = {}
    for part in result.evidence:
        if part.descriptor in drawn:
            told.setdefault(part.sentence, []).append(part.descriptor)
    for sentence, names in told.items():
        lines += paragraph(f"{', '.join(names)}: {sentence[0].lower()}{sentence[1:]}", width)
    return ["", *lines] if lines else []


def left_out_lines(result: Ageing, width: int = 80) -> list[str]:
    """Return what has no answer, with the reasons."""
    return list(_left_out(result, width))


def _left_out(result: Ageing, width: int) -> Iterator[str]:
    by_reason: dict[str, list[str]] = {}
    for name, why in result.left_out.items():
        by_reason.setdefault(why, []).append(name)
    if by_reason:
        yield ""
    for why, names in by_reason.items():
        more = len(names) - LEFT_OUT_SHOWN
        tail = f" and {more} more" if more > 0 else ""
        listed = "; ".join(names[:LEFT_OUT_SHOWN])
        yield from paragraph(f"Not told: {listed}{tail} ({why}).", width)


def next_of_ageing(result: Ageing) -> str:
    """Return what to do next: about the window that is best, else about what is not known."""
    for best in result.windows:
        if best.opens is None:
            continue
        if best.opens <= result.as_of:
            return f"Nose {best.cask} again before it goes into {best.target}: its window is open"
        return f"Draw {best.cask} again for {best.target} as its window opens, {best.opens:%Y-%m}"
    if result.windows:
        return "Look for other casks, or ask less of the target: none here meets it"
    if any(curve.n_again == 0 for curve in result.curves):
        return "Draw again casks that were nosed young: nothing else tells age from vintage"
    return "Nose on: the curves rest on casks that were drawn again"
