"""What the blending page shows, as plain lines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.chance_words import chance
from panel.figures import in_digits

if TYPE_CHECKING:
    from analysis.vatting import Line, Poured, SharesTried, Stock

NOTES_SHOWN = 8
NAME_CELLS = 18
UNNOSED = "?"


@dataclass(frozen=True)
class BlendRow:
    """One cask in the blend."""

    cask: str
    wood: str
    litres: float
    holds: float
    share: float
    abv: float
    age: float | None
    foretold: bool = False

    @property
    def marked(self) -> str:
        """Its number, with a sign where nobody nosed it."""
        return f"{UNNOSED} {self.cask}" if self.foretold else self.cask


def blend_rows(stock: Stock, litres: Mapping[str, float]) -> list[BlendRow]:
    """Return the casks with their litres, in the order in which they came in."""
    rows = {name: stock.position[name] for name in litres if name in stock.position}
    lpa = {name: litres[name] * float(stock.abv_percent[row]) for name, row in rows.items()}
    whole = sum(lpa.values()) or 1.0
    wood = stock.text("wood")
    return [
        BlendRow(
            cask=name,
            wood=str(wood[row]),
            litres=litres[name],
            holds=float(stock.bulk_litres[row]),
            share=lpa[name] / whole,
            abv=float(stock.abv_percent[row]),
            age=_known(float(stock.age_years[row])),
            foretold=bool(stock.foretold[row]),
        )
        for name, row in rows.items()
    ]


def _known(value: float) -> float | None:
    return None if value != value else value  # noqa: PLR0124 - nan is what differs from itself


def sum_lines(tried: SharesTried, stock: Stock) -> list[str]:
    """Return strength, water, bottles, age, the change in stock, and every limit not kept."""
    poured = tried.mixture.poured
    water = (
        "no water"
        if poured.water_litres is None
        else (f"{in_digits(poured.water_litres, '.1f')} L water")
    )
    age = poured.age_statement_years
    emptied = sum(part.litres_left < 0.05 for part in tried.mixture.parts)
    held = float(sum(stock.bulk_litres[stock.bulk_litres > 0.0]))
    taken = sum(part.litres for part in tried.mixture.parts)
    return [
        f"{in_digits(poured.bulk_litres, '.1f')} L at "
        f"{in_digits(poured.abv_percent, '.2f')} % + {water} = "
        f"{in_digits(poured.final_litres, '.1f')} L at "
        f"{in_digits(poured.bottling_abv_percent, 'g')} %: "
        f"{short_bottles(poured)}, {'no age' if age is None else f'{age} years'}",
        f"Stock: {in_digits(held, ',.0f')} L less {in_digits(taken, ',.0f')} L, {emptied} "
        "casks emptied, "
        f"{in_digits(poured.lpa, '.1f')} L pure",
        *unnosed_lines(tried),
        *old_draw_lines(tried),
        *(f"! {each.sentence}" for each in tried.broken[:3]),
    ]


def short_bottles(poured: Poured) -> str:
    """Return the bottles that are surely filled, and how many it may be."""
    if poured.bottles_low == poured.bottles_high:
        return f"{in_digits(poured.bottles, ',')} bottles"
    return f"{in_digits(poured.bottles, ',')} bottles (to {in_digits(poured.bottles_high, ',')})"


def old_draw_lines(tried: SharesTried) -> list[str]:
    """Return a line on the casks whose draw is so old that the blend hangs on it."""
    old = [part for part in tried.mixture.parts if part.decides]
    if not old:
        return []
    shown = ", ".join(
        (f"{part.cask} ({in_digits(part.years_moved or 0.0, '.1f')} years)") for part in old[:4]
    )
    return [f"! Drawn too long before, decides this blend: {shown}"]


def unnosed_lines(tried: SharesTried) -> list[str]:
    """Return a line on the casks that nobody nosed; none where all were."""
    named = tried.mixture.foretold
    if not named:
        return []
    shown = ", ".join(named[:4]) + (" and more" if len(named) > 4 else "")
    return [f"{UNNOSED} never nosed, foretold from wood, fill, age and peat: {shown}"]


def profile_lines(lines: Sequence[Line], width: int) -> list[str]:
    """Return a line a note: the band of the target, where the blend lies, figures, chance.

    Where not all fit, those that are least sure stand here.
    """
    shown = sorted(lines, key=lambda line: line.probability)[:NOTES_SHOWN]
    kept = [line for line in lines if line in shown]
    room = max(width - NAME_CELLS - 28, 11)
    return [_profile_line(line, room) for line in kept]


def _profile_line(line: Line, room: int) -> str:
    name = line.descriptor[:NAME_CELLS].ljust(NAME_CELLS)
    figures = (
        f"{in_digits(line.estimate, '5.1f')} ±{in_digits(line.sd, '4.1f')} of "
        f"{in_digits(line.aim, '5.1f')}"
    )
    return f"{name} {band(line, room)} {figures} {chance(line.probability):>4}"


def band(line: Line, room: int) -> str:
    """Draw 0 to 100: the target between brackets, the blend as a dot."""
    cells = ["·"] * room

    def place(points: float) -> int:
        return max(0, min(room - 1, round(points / 100.0 * (room - 1))))

    low, high = place(line.aim - line.tolerance), place(line.aim + line.tolerance)
    for cell in range(low, high + 1):
        cells[cell] = "─"
    cells[low], cells[high] = "[", "]"
    cells[place(line.estimate)] = "●"
    return "".join(cells)


def stock_lines(stock: Stock, litres: Mapping[str, float]) -> list[str]:
    """Return by wood what lies in stock, what goes, and what stays."""
    woods = stock.text("wood")
    held: dict[str, float] = defaultdict(float)
    gone: dict[str, float] = defaultdict(float)
    for row, name in enumerate(stock.names):
        amount = float(stock.bulk_litres[row])
        held[str(woods[row])] += amount if amount == amount else 0.0  # noqa: PLR0124 - nan
        gone[str(woods[row])] += litres.get(str(name), 0.0)
    return [
        f"{wood or 'no wood on record'}: {in_digits(held[wood], ',.0f')} less "
        f"{in_digits(gone[wood], ',.0f')} leaves "
        f"{in_digits(held[wood] - gone[wood], ',.0f')}"
        for wood in sorted(held, key=lambda each: (-gone[each], each))
    ]
