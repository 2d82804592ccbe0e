"""Settings of the house: each has a default, a reason and bounds; only changed ones are stored."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy.orm import Mapped, Session, mapped_column

from panel.errors import OakpanelError, UnknownRecord
from panel.store.base import Base


class HouseSetting(Base):
    """A setting that differs from its default."""

    __tablename__ = "house_setting"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]


@dataclass(frozen=True)
class SettingRule:
    """What a setting is for and what it may be."""

    default: float | str
    low: float
    high: float
    unit: str
    reason: str


RULES: dict[str, SettingRule] = {
    "time_zone": SettingRule("UTC", 0, 0, "IANA name", "session dates are the site's own"),
    "flight_glasses": SettingRule(
        8, 2, 12, "glasses", "six tests, a reference and a duplicate; noses tire"
    ),
    "tasting_glasses": SettingRule(6, 2, 10, "glasses", "a mouth tires sooner than a nose"),
    "flight_break_min": SettingRule(60, 0, 240, "min", "between two flights of one evening"),
    "flights_a_day": SettingRule(2, 1, 4, "flights", "an hour apart; a third is noise"),
    "session_descriptors": SettingRule(
        10, 1, 40, "descriptors", "each line costs every assessor some seconds a glass"
    ),
    "own_words": SettingRule(
        8, 1, 30, "words", "that an assessor names at most; each is a line on every glass"
    ),
    "naming_s_a_glass": SettingRule(
        30, 0, 300, "s", "a glass of the first flight nosed once more, to find own words"
    ),
    "seconds_a_line": SettingRule(8, 1, 120, "s", "one descriptor on one glass"),
    "pour_ml": SettingRule(20, 5, 50, "mL", "enough to nose, little to spill"),
    "nosing_abv": SettingRule(20, 10, 40, "% vol", "ethanol no longer covers the nose"),
    "pause_s": SettingRule(60, 0, 600, "s", "one pause for the whole flight"),
    "pause_peated_s": SettingRule(180, 0, 900, "s", "smoke lingers"),
    "peated_from_ppm": SettingRule(15, 0, 200, "ppm", "malt phenols from which smoke lingers"),
    "dose_session_g": SettingRule(8, 0, 40, "g", "ethanol, counted as if spat"),
    "dose_day_g": SettingRule(16, 0, 80, "g", "ethanol, counted as if spat"),
    "draw_loss_fraction": SettingRule(0.10, 0, 0.5, "share", "what stays in pipette and measure"),
    "retained_ml": SettingRule(50, 0, 500, "mL", "kept back in case a result is disputed"),
    "alike_tolerance": SettingRule(10, 1, 50, "points", "a difference nobody would act on"),
    "regauge_old_years": SettingRule(3, 0.5, 20, "years", "older figures say how old they are"),
}


def read_setting(db: Session, name: str) -> float | str:
    """Return a setting's value, the default where nobody changed it."""
    rule = rule_for(name)
    stored = db.get(HouseSetting, name)
    if stored is None:
        return rule.default
    return stored.value if isinstance(rule.default, str) else float(stored.value)


def number_setting(db: Session, name: str) -> float:
    """Return a setting that is a number."""
    return float(read_setting(db, name))


def rule_for(name: str) -> SettingRule:
    """Return the rule of a setting, or say which names there are."""
    if name not in RULES:
        raise UnknownRecord(f"There is no setting {name!r}. There are: {', '.join(RULES)}.")
    return RULES[name]


def change_setting(db: Session, name: str, value: str) -> None:
    """Store a new value after checking it against the setting's bounds."""
    rule = rule_for(name)
    if isinstance(rule.default, str):
        _check_zone(value)
    else:
        _check_bounds(name, rule, value)
    stored = db.get(HouseSetting, name)
    if stored is None:
        db.add(HouseSetting(name=name, value=value))
    else:
        stored.value = value


def _check_zone(value: str) -> None:
    try:
        ZoneInfo(value)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise OakpanelError(
            f"{value!r} is not a time zone; write it as Europe/Lisbon or UTC."
        ) from None


def _check_bounds(name: str, rule: SettingRule, value: str) -> None:
    try:
        number = float(value)
    except ValueError:
        raise OakpanelError(f"{name} is a number in {rule.unit}, not {value!r}.") from None
    if not rule.low <= number <= rule.high:
        raise OakpanelError(f"{name} lies between {rule.low:g} and {rule.high:g} {rule.unit}.")
