"""The casks of a blend, a line each; plus and minus move litres."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.blend_lines import BlendRow
from panel.desk.columns import Column
from panel.figures import in_digits, tenths

COLUMNS: tuple[Column[BlendRow], ...] = (
    Column("Cask", 10, lambda r: r.marked, lambda r: r.cask),
    Column("Takes L", 7, lambda r: in_digits(r.litres, ".1f"), lambda r: r.litres, right=True),
    Column("Holds L", 7, lambda r: in_digits(r.holds, ".1f"), lambda r: r.holds, right=True),
    Column("LPA %", 6, lambda r: in_digits(100 * r.share, ".1f"), lambda r: r.share, right=True),
    Column("Vol %", 5, lambda r: tenths(r.abv), lambda r: r.abv, right=True),
    Column("Age y", 5, lambda r: "-" if r.age is None else in_digits(r.age, ".1f"), right=True),
    Column("Wood", 22, lambda r: r.wood, stretch=True),
)


class BlendTable(BigTable["BlendRow"]):
    """The casks in the blend; plus and minus move litres."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *sort_keys(COLUMNS),
        Binding(
            "plus,right,equals_sign",
            "screen.step(1)",
            "More",
            key_display="+",
            id="blend.more",
            tooltip="Five litres more of this cask",
        ),
        Binding(
            "minus,left",
            "screen.step(-1)",
            "Less",
            key_display="-",
            id="blend.less",
            tooltip="Five litres less of this cask",
        ),
        Binding(
            "space",
            "screen.whole",
            "Whole or none",
            id="blend.whole",
            tooltip="All of this cask, or nothing",
        ),
    ]
