"""The 240 casks of Sallow Weir: what they were filled with, and what is in them on any day.

Planted among them, each by the cask's number in `PLANTED`: a leaking cask that was repaired, a
butt that three barrels were re-racked into, a musty cask (on hold), a cask of another owner, one
close to 40 %, one on hold for its sulphur, one reserved.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from math import exp, pow

from numpy.random import RandomState

from demo_panel.spirit import (
    BARREL,
    BARRIQUE,
    BUTT,
    HOGSHEAD,
    NEW_OAK,
    SHERRY_HOGSHEAD,
    Character,
    Stay,
    Wood,
    draw_character,
    true_profile,
)

SITE = "Sallow Weir"
SHED, LOFT = "Osier Shed", "Weir Loft"
LAST_DAY = date(2026, 10, 30)
YEAR_DAYS = 365.25

CAMPAIGNS = ((2008, 2012), (2013, 2017), (2018, 2022), (2023, 2026))
STYLES = {"Reed": (0.9, 1.2, 1.0, 0.8), "Ember": (9.2, 10.4, 10.8, 9.8), "Turf": (36, 38.5, 40, 37)}
"""Malt phenols in ppm of each make in each campaign."""

WOODS = (BARREL, HOGSHEAD, BUTT, SHERRY_HOGSHEAD, NEW_OAK, BARRIQUE)
WOOD_SHARES = (0.36, 0.24, 0.11, 0.12, 0.07, 0.10)
STYLE_SHARES = (0.44, 0.34, 0.22)
FILL_SHARES = (0.42, 0.33, 0.17, 0.08)
CASKS_A_YEAR = (13, 13, 12, 13, 13, 12, 13, 13, 12, 13, 13, 12, 13, 13, 12, 13, 13, 12, 10)

PLANTED = {
    "leaking": "SW1205",
    "re-racked": "SW2201",
    "musty": "SW1406",
    "other owner": "SW1307",
    "close to 40 %": "SW0804",
    "on hold": "SW1903",
    "reserved": "SW1408",
}
LOSING, LOSING_FROM, LOST_A_YEAR = "SW1211", date(2023, 8, 1), 0.03
"""A barrel that leaks a little since then: nobody has noticed, and its next gauge shows it."""
LOSING_GAUGED_ON = date(2026, 10, 13)
HELD_OVER = "SW1508"
"""A barrel whose hold ended and was not looked at."""
PARENTS = ("SW0903", "SW0906", "SW1002")
RE_RACKED_ON = date(2022, 5, 11)
LEAK_FOUND_ON = date(2022, 9, 20)
REPAIRED_ON = date(2022, 9, 23)
LEAKED_SHARE = 0.24
OTHER_OWNER = "Private owner 7"


@dataclass(eq=False)
class Filling:
    """A filling of the invented world, with the rates its content goes by."""

    cask: str
    number: int
    wood: Wood
    fill_number: int
    make: str
    ppm: float
    filled_on: date
    abv: float
    bulk_l: float
    warehouse: str
    loss_a_year: float
    abv_fall_a_year: float
    character: Character
    row: str
    tier: int
    before: tuple[Stay, ...] = ()
    emptied_on: date | None = None
    owner: str = ""
    hold_reason: str = ""
    hold_until: date | None = None
    moves: list[tuple[date, str]] = field(default_factory=list)

    @property
    def label(self) -> str:
        """Return the filling's name in the files."""
        return f"{self.cask}/{self.number}"

    @property
    def lpa(self) -> float:
        """Return litres of pure alcohol at filling."""
        return self.bulk_l * self.abv / 100.0

    def is_full(self, on: date) -> bool:
        """Whether there is spirit in it on a day."""
        return self.filled_on <= on and (self.emptied_on is None or on < self.emptied_on)

    def years(self, on: date) -> float:
        """Return the years in this wood."""
        return (on - self.filled_on).days / YEAR_DAYS

    def age_years(self, on: date) -> float:
        """Return the years in wood, those before a re-rack included."""
        return self.years(on) + sum(stay.years for stay in self.before)

    def abv_on(self, on: date) -> float:
        """Return the strength on a day, in % vol."""
        return self.abv - self.abv_fall_a_year * self.years(on)

    def bulk_on(self, on: date) -> float:
        """Return the litres on a day: wood drinks 1.5 % first, then the yearly loss, then leaks."""
        years = self.years(on)
        kept = (1 - 0.015 * (1 - exp(-4 * years))) * pow(1 - self.loss_a_year, years)
        if self.cask == PLANTED["leaking"] and on >= LEAK_FOUND_ON:
            kept *= 1 - LEAKED_SHARE
        if self.cask == LOSING and on > LOSING_FROM:
            kept *= pow(1 - LOST_A_YEAR, (on - LOSING_FROM).days / YEAR_DAYS)
        return self.lpa * kept / self.abv_on(on) * 100.0

    def profile(self, on: date) -> dict[str, float]:
        """Return what is truly in it on a day, note by note."""
        stays = (*self.before, Stay(self.wood, self.fill_number, self.years(on)))
        musty = self.cask == PLANTED["musty"]
        return true_profile(self.ppm, stays, self.character, musty=musty)


def pick(rng: RandomState, shares: tuple[float, ...]) -> int:
    """Return an index drawn by its share."""
    return int(rng.choice(len(shares), p=shares))


def make_of(style: str, year: int) -> tuple[str, float]:
    """Return the make that was distilled in a year, and its malt phenols in ppm."""
    for i, (first, last) in enumerate(CAMPAIGNS):
        if first <= year <= last:
            return f"{style} {first % 100:02d}-{last % 100:02d}", float(STYLES[style][i])
    raise ValueError(f"no campaign in {year}")


def fill(
    rng: RandomState, cask: str, number: int, wood: Wood, fill_number: int, on: date
) -> Filling:
    """Fill a cask with a make of that year."""
    make, ppm = make_of(list(STYLES)[pick(rng, STYLE_SHARES)], on.year)
    warehouse = SHED if rng.rand() < 0.55 else LOFT
    loft = warehouse == LOFT
    loss = (0.019 + 0.003 * loft) * (200.0 / wood.size_l) ** 0.2 * exp(float(rng.normal(0.0, 0.10)))
    return Filling(
        cask=cask,
        number=number,
        wood=wood,
        fill_number=fill_number,
        make=make,
        ppm=ppm,
        filled_on=on,
        abv=float(rng.choice((63.5, 63.5, 63.5, 63.4, 63.6, 63.5, 60.0, 66.8))),
        bulk_l=round(wood.size_l * float(rng.uniform(0.965, 0.99)), 1),
        warehouse=warehouse,
        loss_a_year=loss,
        abv_fall_a_year=(0.24 if loft else 0.34) * exp(float(rng.normal(0.0, 0.15))),
        character=draw_character(rng),
        row="ABCDEFGH"[rng.randint(8)],
        tier=int(rng.randint(1, 4)),
    )


def first_fillings(rng: RandomState) -> list[Filling]:
    """Fill every year's casks between February and November."""
    fillings = []
    for year, casks in zip(range(2008, 2027), CASKS_A_YEAR, strict=True):
        last = 250 if year == 2026 else 310
        days = sorted(rng.randint(40, last, casks))
        for i, day in enumerate(days, start=1):
            wood = WOODS[pick(rng, WOOD_SHARES)]
            fill_number = 1 if wood is NEW_OAK else 1 + pick(rng, FILL_SHARES)
            on = date(year, 1, 1) + timedelta(int(day))
            fillings.append(fill(rng, f"SW{year % 100:02d}{i:02d}", 1, wood, fill_number, on))
    return fillings


def empty_some(rng: RandomState, fillings: list[Filling]) -> list[Filling]:
    """Bottle a dozen old fillings of the past; most of their casks are filled once more."""
    again = []
    kept = set(PLANTED.values()) | set(PARENTS)
    old = [one for one in fillings if one.filled_on.year <= 2011 and one.cask not in kept]
    for i in sorted(rng.choice(len(old), 14, replace=False)):
        one = old[i]
        one.emptied_on = one.filled_on + timedelta(int(rng.randint(3400, 4200)))
        if one.fill_number < 4 and rng.rand() < 0.85:
            on = one.emptied_on + timedelta(int(rng.randint(5, 40)))
            again.append(fill(rng, one.cask, 2, one.wood, one.fill_number + 1, on))
    return again


def move_some(rng: RandomState, fillings: list[Filling]) -> None:
    """Move some fillings to the other warehouse in the summer of 2019 or 2024."""
    for one in fillings:
        for year in (2019, 2024):
            on = date(year, 6, 3) + timedelta(int(rng.randint(40)))
            if one.is_full(on) and one.years(on) > 1 and rng.rand() < 0.12 and not one.moves:
                one.moves.append((on, LOFT if one.warehouse == SHED else SHED))


def refit(one: Filling, style: str, wood: Wood, fill_number: int) -> None:
    """Give a planted cask the make and wood that its story needs."""
    one.make, one.ppm = make_of(style, one.filled_on.year)
    one.wood, one.fill_number = wood, fill_number
    one.bulk_l = round(wood.size_l * 0.98, 1)
    one.abv = 63.5


def plant(by_cask: dict[str, Filling]) -> None:
    """Put the planted cases in their places."""
    refit(by_cask[PLANTED["leaking"]], "Reed", HOGSHEAD, 2)
    refit(by_cask[PLANTED["musty"]], "Reed", HOGSHEAD, 2)
    refit(by_cask[PLANTED["on hold"]], "Reed", BUTT, 1)
    refit(by_cask[PLANTED["other owner"]], "Ember", BARREL, 1)
    refit(by_cask[PLANTED["reserved"]], "Ember", HOGSHEAD, 1)
    weak = by_cask[PLANTED["close to 40 %"]]
    refit(weak, "Reed", BARREL, 3)
    weak.abv, weak.warehouse, weak.loss_a_year = 58.2, SHED, 0.031
    weak.abv_fall_a_year = (58.2 - 40.4) / weak.years(date(2026, 9, 15))
    for one in (weak, by_cask[PLANTED["leaking"]], by_cask[PLANTED["musty"]]):
        one.moves.clear()
    sulphury = by_cask[PLANTED["on hold"]]
    sulphury.character = replace(sulphury.character, sulphur=60.0)
    sulphury.hold_reason = "struck match: nose again after a year"
    sulphury.hold_until = date(2027, 4, 30)
    by_cask[PLANTED["musty"]].hold_reason = "damp cellar on two evenings: lead decides"
    by_cask[PLANTED["other owner"]].owner = OTHER_OWNER
    over = by_cask[HELD_OVER]
    over.hold_reason, over.hold_until = "bung replaced: nose it in September", date(2026, 9, 30)


def re_rack(by_cask: dict[str, Filling]) -> None:
    """Empty three barrels into one fresh sherry butt: the butt's filling has three parents."""
    for number in PARENTS:
        refit(by_cask[number], "Ember", BARREL, 3)
        by_cask[number].emptied_on = RE_RACKED_ON
        by_cask[number].moves.clear()
    parents = [by_cask[number] for number in PARENTS]
    day_before = RE_RACKED_ON - timedelta(1)
    litres = [round(one.bulk_on(day_before), 1) for one in parents]
    lpa = sum(v * one.abv_on(day_before) for v, one in zip(litres, parents, strict=True)) / 100
    butt = by_cask[PLANTED["re-racked"]]
    butt.wood, butt.fill_number, butt.make = BUTT, 1, ""
    butt.filled_on, butt.bulk_l = RE_RACKED_ON, round(sum(litres), 1)
    butt.abv = round(100 * lpa / butt.bulk_l, 1)
    butt.ppm = sum(one.ppm for one in parents) / len(parents)
    youngest = min(one.years(RE_RACKED_ON) for one in parents)
    butt.before = (Stay(BARREL, 3, youngest),)
    butt.moves.clear()


def build_stock(rng: RandomState) -> list[Filling]:
    """Return every filling of the 240 casks, in the order of cask and filling."""
    fillings = first_fillings(rng)
    by_cask = {one.cask: one for one in fillings}
    again = empty_some(rng, fillings)
    move_some(rng, [*fillings, *again])
    plant(by_cask)
    re_rack(by_cask)
    return sorted([*fillings, *again], key=lambda one: (one.cask, one.number))
