"""The page of the warehouse: what needs somebody, on paper in walking order, and open remarks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.report.common import foot
from panel.report.html import to_html
from panel.report.values import Column, Opening, Report, Section, Table, sentences
from panel.words.lot_words import NEVER_POURED, TELL_SAFETY, remark_state
from panel.words.review_words import (
    CAUTIONS,
    action_words,
    casks_words,
    not_shown_words,
    reason_words,
    review_head,
    tick_words,
    warehouse_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from panel.questions.review.review import Review, ReviewLine, WarehouseReview
    from panel.questions.stands_on import StandsOn
    from panel.release.lot_trace import RemarkTold

WALK = (
    Column("done"),
    Column("row, tier"),
    Column("cask"),
    Column("why"),
    Column("what to do"),
)
REMARKS = (
    Column("no."),
    Column("day"),
    Column("lot"),
    Column("about"),
    Column("said"),
    Column("stands"),
)
MOST_NAMED = 60
"""Casks of one line that are named on paper."""
RECKONED = (
    "A loss is told as unexplained by all gauges of a cask, their errors, its size, its first soak "
    "and what casks of its store lost in the same years; how often that is said falsely stands "
    "under How we know.",
    "At most so many lines a warehouse as the house has settled, the worst chosen; here they stand "
    "in walking order. A line that was ticked comes back with a newer record alone.",
)


def stock_page(review: Review, remarks: Sequence[RemarkTold], stands: StandsOn) -> str:
    """Return the page, one warehouse after the other, each on paper of its own."""
    return to_html(
        Report(
            kind="Stock",
            name=review.part.words() or "what needs somebody today",
            fact=review_head(review),
            reader="For whoever goes through the warehouse.",
            opening=Opening(review_head(review), review.not_told, _next(review, remarks)),
            sections=tuple(_sections(review, remarks)),
            reckoned=RECKONED,
            sources=(),
            cautions=CAUTIONS,
            foot=foot(stands),
        )
    )


def _next(review: Review, remarks: Sequence[RemarkTold]) -> str:
    if any(each.concerns_safety and each.told_safety_on is None for each in remarks):
        return TELL_SAFETY
    lines = [line for one in review.warehouses for line in one.lines]
    return f"First: {action_words(lines[0])}, {casks_words(lines[0])}." if lines else ""


def _sections(review: Review, remarks: Sequence[RemarkTold]) -> Iterator[Section]:
    for one in review.warehouses:
        yield Section(
            warehouse_words(one),
            sentences(not_shown_words(one)),
            tables=(Table("", WALK, _walked(one)),),
            card=True,
        )
    open_ones = [each for each in remarks if each.closed_on is None]
    if open_ones:
        rows = [
            (
                *(str(each.remark), str(each.made_on), each.lot or each.release),
                *(each.kind.value, each.said, remark_state(each)),
            )
            for each in open_ones
        ]
        table = Table("", REMARKS, rows)
        yield Section("Remarks on bottles that are open", (NEVER_POURED,), tables=(table,))
    if review.done:
        yield Section("Seen to lately", tuple(tick_words(each) for each in review.done))


def _walked(one: WarehouseReview) -> list[tuple[str, ...]]:
    return [
        ("□", line.place, _casks(line), reason_words(line), action_words(line))
        for line in one.walked
    ]


def _casks(line: ReviewLine) -> str:
    """The casks of a line: on paper there is room for many of them."""
    if len(line.casks) == 1:
        return line.cask
    more = len(line.casks) - MOST_NAMED
    rest = f" and {in_digits(more, ',')} more" if more > 0 else ""
    return f"{casks_words(line)}: {', '.join(line.casks[:MOST_NAMED])}{rest}"
