"""How much a house has on record, and how it is set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from panel.figures import in_digits
from panel.kinds import SessionStatus
from panel.store.casks import Cask
from panel.store.house import RULES, read_setting
from panel.store.sessions import PanelSession, Score

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def house_sizes(db: Session) -> dict[str, int]:
    """Count casks, revealed sessions and scores."""
    over = PanelSession.status == SessionStatus.REVEALED
    return {
        "casks": db.scalar(select(func.count(Cask.id))) or 0,
        "sessions": db.scalar(select(func.count(PanelSession.id)).where(over)) or 0,
        "scores": db.scalar(select(func.count()).select_from(Score)) or 0,
    }


@dataclass(frozen=True)
class SettingLine:
    """A setting as it stands. One in words has no bounds."""

    name: str
    value: float | str
    default: float | str
    low: float | None
    high: float | None
    unit: str
    reason: str

    @property
    def shown(self) -> str:
        """The value as it is read."""
        return self.value if isinstance(self.value, str) else in_digits(self.value, "g")

    @property
    def bounds(self) -> str:
        """From what to what it goes; nothing for one in words."""
        return (
            ""
            if self.low is None
            else (f"{in_digits(self.low, 'g')} to {in_digits(self.high, 'g')}")
        )

    @property
    def changed(self) -> bool:
        """Tell whether the house set it otherwise than it comes."""
        return self.value != self.default


def setting_lines(db: Session) -> list[SettingLine]:
    """Return every setting with its value, its bounds and why there is one."""
    return [
        SettingLine(
            name,
            read_setting(db, name),
            rule.default,
            None if isinstance(rule.default, str) else rule.low,
            None if isinstance(rule.default, str) else rule.high,
            rule.unit,
            rule.reason,
        )
        for name, rule in RULES.items()
    ]
