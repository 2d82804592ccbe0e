"""Settings of the house: each has a default, a reason and bounds; only changed ones are stored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from panel.clock import site_date
from panel.errors import UnknownRecord
from panel.store.house_setting import HouseSetting


@dataclass(frozen=True)
class SettingRule:
    """What a setting is for and what it may be.

    Where `guards` people, nobody raises it above its default without saying why.
    """

    default: float | str
    low: float
    high: float
    unit: str
    reason: str
    guards: bool = False


MOST_DOSE_G = 40.0
"""Grams of ethanol above which no cap of a house can be set, whatever the reason."""
SPAT, SWALLOWED = "ethanol, counted as if spat", "ethanol, if all were swallowed"

POINT, COMMA = "point", "comma"
RULES: dict[str, SettingRule] = {
    "time_zone": SettingRule("UTC", 0, 0, "IANA name", "session dates are the site's own"),
    "house_name": SettingRule("", 0, 0, "words", "stands on top of the desk; empty: the file's"),
    "decimal_mark": SettingRule(
        *(POINT, 0, 0, "of decimals"),
        f"{POINT} or {COMMA}, in saved CSV files; beside a comma, `;` parts cells",
    ),
    "flight_glasses": SettingRule(
        8, 2, 12, "glasses", "six tests, a reference and a duplicate; noses tire"
    ),
    "tasting_glasses": SettingRule(6, 2, 10, "glasses", "a mouth tires sooner than a nose"),
    "flight_break_min": SettingRule(60, 0, 240, "min", "between two flights of one evening"),
    "flights_a_day": SettingRule(2, 1, 4, "flights", "an hour apart; a third is noise"),
    "passing_block_glasses": SettingRule(
        12, 4, 12, "glasses", "nosed one after the other in a passing session, then air"
    ),
    "passing_blocks_a_day": SettingRule(
        8, 1, 10, "blocks", "of a passing session: 60 casks with what is planted take seven"
    ),
    "passing_air_min": SettingRule(10, 0, 60, "min", "of air between two blocks of passing"),
    "passing_glass_s": SettingRule(20, 5, 300, "s", "a glass that is passed or held; no clock"),
    "passing_spikes_a_block": SettingRule(
        1, 0, 2, "glasses", "spiked ones on average; how many there are is drawn for each block"
    ),
    "passing_sound_a_block": SettingRule(
        1, 0, 2, "glasses", "known-sound ones on average, drawn for each block likewise"
    ),
    "passing_repeat_share": SettingRule(0.1, 0, 0.5, "share", "of the casks, nosed once more"),
    "passing_second_share": SettingRule(
        0.1, 0, 1, "share", "of what one nose passed that goes to a second nose too"
    ),
    "trace_glasses": SettingRule(
        2, 1, 4, "glasses", "of a tray that is traced: two sips, each followed for a minute"
    ),
    "trace_glass_s": SettingRule(
        90, 60, 300, "s", "a glass that is traced: a minute, and a rinse after it"
    ),
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
    "dose_session_g": SettingRule(8, 0, MOST_DOSE_G, "g", SPAT, guards=True),
    "dose_day_g": SettingRule(16, 0, MOST_DOSE_G, "g", SPAT, guards=True),
    "dose_session_swallowed_g": SettingRule(24, 0, MOST_DOSE_G, "g", SWALLOWED, guards=True),
    "dose_day_swallowed_g": SettingRule(32, 0, MOST_DOSE_G, "g", SWALLOWED, guards=True),
    "draw_loss_fraction": SettingRule(0.10, 0, 0.5, "share", "what stays in pipette and measure"),
    "retained_ml": SettingRule(50, 0, 500, "mL", "kept back in case a result is disputed"),
    "sample_good_years": SettingRule(
        1, 0.05, 10, "years", "a sample kept longer no longer tells what is in the cask today"
    ),
    "draw_notice_days": SettingRule(3, 0, 60, "days", "the warehouse has to be told of a draw"),
    "draw_shed_min": SettingRule(10, 0, 240, "min", "to a shed, in and out, for two people"),
    "draw_cask_min": SettingRule(4, 1, 60, "min", "to find a cask, draw, close and label it"),
    "draw_tier_min": SettingRule(3, 0, 60, "min", "more for each tier above the lowest"),
    "far_shed_glasses": SettingRule(
        2, 0, 50, "glasses", "what going to one shed more has to be worth before a cask is drawn"
    ),
    "next_stop_points": SettingRule(
        1, 0.1, 20, "points", "what deciding may cost before nosing on is worth it"
    ),
    "alike_tolerance": SettingRule(10, 1, 50, "points", "a difference nobody would act on"),
    "leak_percent_a_year": SettingRule(
        5, 1, 20, "% LPA", "a loss above it points to a leak: 250 L, cool store; small casks more"
    ),
    "leak_percent_dry_store": SettingRule(
        12, 1, 40, "% LPA", "the same in the dry stores, where strength may rise"
    ),
    "leak_more_percent_a_year": SettingRule(
        *(1, 0.2, 10, "% LPA"),
        "beyond what a cask of 250 L should lose, and beyond what gauges err: somebody has to look",
    ),
    "dry_stores": SettingRule("", 0, 0, "warehouses", "dry or hot ones, with commas between"),
    "first_soak_percent": SettingRule(
        3, 0, 10, "% LPA", "what wood drinks at once when it is filled: no leak"
    ),
    "gauge_gain_percent": SettingRule(0.5, 0.1, 5, "% LPA", "a gain within gauging error"),
    "own_mark_days": SettingRule(
        *(30, 1, 30, "days", "after which a mark of not being at one's best is dropped"),
    ),
    "names_kept_years": SettingRule(
        *(2, 0.1, 10, "years", "after leaving, until somebody is listed to be erased"),
    ),
    "consent_text": SettingRule(
        *("", 0, 0, "version", "of the text that people consent to, such as 2026-01"),
    ),
    "review_lines": SettingRule(
        20, 5, 200, "lines", "of a warehouse that the review tells of, the worst; more is not read"
    ),
    "review_strength_months": SettingRule(
        12, 1, 60, "months", "a cask that falls under the legal strength within them is told of"
    ),
    "review_ready_months": SettingRule(
        6, 1, 36, "months", "a cask that is ready and past it within them is told of"
    ),
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


def writes_commas(db: Session) -> bool:
    """Tell whether the house writes decimals with a comma, and semicolons between cells."""
    return read_setting(db, "decimal_mark") == COMMA


def today_at_site(db: Session, now: datetime) -> date:
    """Return the calendar date at the house's site."""
    return site_date(now, str(read_setting(db, "time_zone")))
