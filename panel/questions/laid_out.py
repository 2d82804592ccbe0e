"""What a notebook takes beside scores and targets, as files: stock, what was drawn, how notes mix.

Unlike other files these are reckoned from many records, so nothing loads them again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from panel.figures import in_digits
from panel.frames import stock_frame
from panel.frames.draws import draws_frame, present_frame
from panel.intake.file_out import write_sheet
from panel.intake.kinds import LAID
from panel.intake.saved_records import Sheet, Values
from panel.questions.mixing_rules import mixing_rule
from panel.store.house import writes_commas

if TYPE_CHECKING:
    import pandas as pd

FROM_THE_DRAWS = ("filling", "years_before", "batch")


class Laid(StrEnum):
    """What is laid out for a notebook."""

    STOCK, DRAWN, MIXING = LAID


@dataclass(frozen=True)
class LaidReport:
    """What was written."""

    kind: Laid
    file: str
    rows: int
    left_out: tuple[str, ...] = ()

    def sentence(self) -> str:
        """Return the count as a person reads it."""
        return (
            f"{self.file}: {in_digits(self.rows, ',')} "
            f"{'row' if self.rows == 1 else 'rows'} of {self.kind}"
        )


def save_laid(
    db: Session,
    what: Laid,
    path: Path,
    *,
    as_of: date,
    on: date | None = None,
    force: bool = False,
) -> LaidReport:
    """Write what lies in the casks, moved to the day *on*; or every draw with its cask's facts; or
    how notes mix.

    Raises
    ------
    IntakeError
        The file is there already (and not `force`), cannot be written, or cannot hold a value.
    """
    day = as_of if on is None else max(as_of, on)
    match what:
        case Laid.STOCK:
            sheet = _stock(db, as_of, day)
        case Laid.DRAWN:
            sheet = _sheet(draws_frame(db, as_of))
        case Laid.MIXING:
            sheet = _mixing(db)
    rows = write_sheet(sheet, path, force=force, comma=writes_commas(db))
    return LaidReport(what, path.name, rows)


def _stock(db: Session, as_of: date, day: date) -> Sheet:
    import pandas as pd

    from analysis.bar_text import bars_as_text

    casks = stock_frame(db, as_of, on=day)
    beside = present_frame(db, as_of, on=day)[list(FROM_THE_DRAWS)]
    frame = casks.merge(beside, on="filling", how="left", validate="one_to_one")
    told = [bars_as_text(bars) for bars in frame["bars"].to_list()]
    frame = frame.assign(
        bars=pd.Series([names for names, _ in told], dtype="object"),
        bar_facts=pd.Series([facts for _, facts in told], dtype="object"),
        as_of=as_of,
        stock_on=day,
    )
    return _sheet(frame)


def _mixing(db: Session) -> Sheet:
    rule = mixing_rule(db)
    names = sorted({*rule.exponents, *rule.gains, *rule.bench_sd})
    rows = (
        (name, rule.exponents.get(name), rule.gains.get(name), rule.bench_sd.get(name))
        for name in names
    )
    return Sheet(("descriptor", "exponent", "gain", "bench_sd"), rows)


def _sheet(frame: pd.DataFrame) -> Sheet:
    return Sheet(tuple(str(name) for name in frame.columns), _rows(frame))


def _rows(frame: pd.DataFrame) -> Iterator[Values]:
    for row in frame.itertuples(index=False, name=None):
        yield tuple(_plain(value) for value in row)


def _plain(value: Any) -> Any:
    """Return a value of a frame as files hold it: nothing for what is missing, days alone."""
    import pandas as pd

    if value is None or pd.isna(value):
        return None
    return value.date() if isinstance(value, pd.Timestamp) else value
