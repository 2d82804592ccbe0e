"""The page of a lot: what was said of it, what it is made of, what was kept back, other lots."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.report.common import CARE_AND_DUTY, foot
from panel.report.html import to_html
from panel.report.values import Column, Opening, Report, Section, Table, sentences
from panel.words.lot_words import (
    NEVER_POURED,
    TELL_SAFETY,
    bottle_words,
    draw_lines,
    lot_head,
    next_of_lot,
    other_words,
    remark_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panel.questions.stands_on import StandsOn
    from panel.release.lot_trace import LotTrace

PARTS = (
    Column("cask"),
    Column("filling"),
    Column("wood"),
    Column("make"),
    Column("parcel"),
    Column("filled"),
    Column("litres", "L", figures=True),
    Column("of the vat", "%", figures=True),
    Column("came from"),
)
GAUGES = (
    Column("cask"),
    Column("day"),
    Column("litres", "L", figures=True),
    Column("strength", "% vol", figures=True),
    Column("how"),
)
RECKONED = (
    "Other lots are those with spirit of a cask of this one, or of a cask that both came from by "
    "re-racking or topping. Sessions are told once they are revealed. Who made a remark stands on "
    "no page.",
)


def lot_page(found: LotTrace, stands: StandsOn) -> str:
    """Return the page of a lot."""
    unsafe = any(each.concerns_safety for each in found.open_remarks)
    return to_html(
        Report(
            kind="Lot",
            name=found.lot or found.release,
            fact=lot_head(found),
            reader="For whoever answers for the bottle.",
            opening=Opening(
                f"{len(found.open_remarks)} open of {len(found.remarks)} remarks",
                sentences(TELL_SAFETY if unsafe else None),
                next_of_lot(found),
            ),
            sections=tuple(_sections(found)),
            reckoned=RECKONED,
            sources=(),
            cautions=(NEVER_POURED, *CARE_AND_DUTY),
            foot=foot(stands),
        )
    )


def _sections(found: LotTrace) -> Iterator[Section]:
    if found.remarks:
        yield Section("What was said of it", tuple(map(remark_words, found.remarks)))
    kept = tuple(map(bottle_words, found.kept)) or ("None is on record.",)
    yield Section("Bottles of it in the house", kept)
    yield Section("What is in it", tables=(Table("", PARTS, _parts(found)),))
    others = tuple(map(other_words, found.other_lots)) or ("None.",)
    yield Section("Other lots that share a cask", others)
    yield Section("Draws, and who nosed them", tuple(draw_lines(found)))
    gauges = [
        (part.cask, str(each.on), f"{each.litres:.1f}", f"{each.abv_percent:.1f}", each.method)
        for part in found.parts
        for each in part.gauges
    ]
    yield Section("Gauges of its casks", tables=(Table("", GAUGES, gauges),))


def _parts(found: LotTrace) -> list[tuple[str, ...]]:
    return [
        (
            *(part.cask, part.filling, part.wood, part.make or "-", part.parcel or "-"),
            *(str(part.filled_on), f"{part.litres:.1f}", f"{part.share_of_vat_percent:.1f}"),
            ", ".join(part.came_from) or "-",
        )
        for part in found.parts
    ]
