"""The invented world as rows of the files that `oakpanel load` reads."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from numpy.random import RandomState

from demo_panel.evenings import AIMS, HELD_ON, NEXT, REFERENCES, Sample
from demo_panel.morning import PARCEL, in_parcel
from demo_panel.noses import NOSES
from demo_panel.stock import (
    CAMPAIGNS,
    LAST_DAY,
    LEAK_FOUND_ON,
    LOSING,
    LOSING_GAUGED_ON,
    PARENTS,
    PLANTED,
    RE_RACKED_ON,
    REPAIRED_ON,
    SITE,
    Filling,
    make_of,
)
from demo_panel.trays import Scored
from demo_panel.words import NAMES, NOTES

Table = tuple[tuple[str, ...], list[tuple[object, ...]]]

STYLE_NOTES = {
    "Reed": "unpeated",
    "Ember": "lightly peated",
    "Turf": "heavily peated",
}
EMPTY_WOOD = (
    ("SW2611", "European oak butt", 500),
    ("SW2612", "European oak butt", 500),
)
BOTTLED = "bottled"
NOSING_ABV = 20
TRIAL = (
    "TRIAL-1", "trial", "", "", date(2026, 10, 26), "", 100, 20,
    "SW0905/1=60; SW1505/1=40", "bench try for Lantern",
)  # fmt: skip


def makes(stock: list[Filling]) -> Table:
    """Return the makes that were filled: each style in each campaign."""
    used = {one.make for one in stock}
    rows: list[tuple[object, ...]] = []
    for style, note in STYLE_NOTES.items():
        for first, last in CAMPAIGNS:
            name, ppm = make_of(style, first)
            if name in used:
                rows.append((name, SITE, "barley", ppm, f"{first}-{last}", note))
    return ("make", "site", "cereal", "phenol_ppm", "campaign", "note"), rows


def casks(stock: list[Filling]) -> Table:
    """Return one row a filling, and the empty wood at the end."""
    headings = (
        "cask", "filling", "wood", "size_l", "filled_on", "make", "fill_number", "previous",
        "fill_abv", "fill_bulk_l", "owner", "hold_reason", "hold_until", "emptied_on",
        "site", "warehouse", "row", "tier", "parcel",
    )  # fmt: skip
    rows: list[tuple[object, ...]] = [
        (
            one.cask, one.label, one.wood.name, f"{one.wood.size_l:g}", one.filled_on, one.make,
            one.fill_number, one.wood.previous, one.abv, one.bulk_l, one.owner, one.hold_reason,
            one.hold_until, one.emptied_on, SITE, one.warehouse, one.row, one.tier,
            PARCEL if in_parcel(one) else "",
        )
        for one in stock
    ]  # fmt: skip
    rows += [(cask, "", wood, size_l, *[""] * 15) for cask, wood, size_l in EMPTY_WOOD]
    return headings, rows


def events(stock: list[Filling]) -> Table:
    """Return what happened to the fillings, in the order of the days."""
    by_cask = {one.cask: one for one in stock}
    rows = [row for one in stock for row in own_events(one)]
    leaking = by_cask[PLANTED["leaking"]].label
    rows += [
        event(leaking, "leak found", LEAK_FOUND_ON, note="stave weeping below the bung"),
        event(leaking, "repaired", REPAIRED_ON, note="stave caulked and hoop driven"),
        event(
            by_cask[PLANTED["reserved"]].label,
            "reserved",
            date(2026, 6, 1),
            note="single cask for the visitor room",
        ),
    ]
    for number in PARENTS:
        litres = round(by_cask[number].bulk_on(RE_RACKED_ON - timedelta(1)), 1)
        abv = round(by_cask[number].abv_on(RE_RACKED_ON), 1)
        butt = by_cask[PLANTED["re-racked"]].label
        parent = by_cask[number].label
        rows.append(event(butt, "re-racked", RE_RACKED_ON, parent=parent, litres=litres, abv=abv))
    headings = (
        "filling", "kind", "happened_on", "parent", "litres", "abv",
        "site", "warehouse", "row", "tier", "note",
    )  # fmt: skip
    return headings, sorted(rows, key=lambda row: (str(row[2]), str(row[0]), str(row[3])))


def own_events(one: Filling) -> list[tuple[object, ...]]:
    """Return the moves and the emptying of one filling."""
    rows = [
        event(one.label, "moved", on, place=(SITE, warehouse, one.row, str(one.tier)))
        for on, warehouse in one.moves
        if one.emptied_on is None or on < one.emptied_on
    ]
    if one.emptied_on is not None:
        note = "re-racked" if one.cask in PARENTS else BOTTLED
        rows.append(event(one.label, "emptied", one.emptied_on, note=note))
    return rows


def event(
    filling: str,
    kind: str,
    on: date,
    *,
    parent: str = "",
    litres: float | str = "",
    abv: float | str = "",
    place: tuple[str, str, str, str] = ("", "", "", ""),
    note: str = "",
) -> tuple[object, ...]:
    """Return one row of the events file."""
    return (filling, kind, on, parent, litres, abv, *place, note)


def regauges(stock: list[Filling], rng: RandomState) -> Table:
    """Return a gauge every three to five years, and those around the leak."""
    rows: list[tuple[object, ...]] = []
    for one in stock:
        last = (one.emptied_on or LAST_DAY) - timedelta(1)
        rows += [gauge(one, on, rng) for on in gauge_days(one, last, rng)]
    rows += [losing_gauge(one) for one in stock if one.cask == LOSING]
    headings = ("filling", "gauged_on", "bulk_l", "abv", "temperature_c", "method")
    return headings, sorted(rows, key=lambda row: (str(row[1]), str(row[0])))


def losing_gauge(one: Filling) -> tuple[object, ...]:
    """Return the gauge of the barrel that leaks a little: no chance is drawn for it."""
    on = LOSING_GAUGED_ON
    bulk, abv = f"{one.bulk_on(on):.1f}", f"{one.abv_on(on):.1f}"
    return (one.label, on, bulk, abv, 11.2, "weighed")


def gauge_days(one: Filling, last: date, rng: RandomState) -> list[date]:
    """Return when a filling was gauged up to a day."""
    if one.cask == PLANTED["leaking"]:
        return [date(2015, 9, 9), date(2019, 9, 12), LEAK_FOUND_ON, date(2026, 3, 10)]
    if one.cask == PLANTED["close to 40 %"]:
        return [date(2012, 9, 4), date(2016, 9, 6), date(2020, 9, 8), date(2024, 9, 10), LAST_DAY]
    days = []
    on = one.filled_on + timedelta(int(rng.randint(1100, 1800)))
    while on <= last:
        days.append(on)
        on += timedelta(int(rng.randint(1100, 1800)))
    return days


def gauge(one: Filling, on: date, rng: RandomState) -> tuple[object, ...]:
    """Return one measurement; weighing is steadier than dipping."""
    weighed = rng.rand() < 0.6
    bulk = one.bulk_on(on) * (1 + float(rng.normal(0.0, 0.001 if weighed else 0.003)))
    abv = one.abv_on(on) + float(rng.normal(0.0, 0.05))
    temperature = round(8 + 5 * float(rng.rand()), 1)
    method = "weighed" if weighed else "dipped"
    return (one.label, on, f"{bulk:.1f}", f"{abv:.1f}", temperature, method)


def draws(samples: list[Sample], volumes: Mapping[str, int], rng: RandomState) -> Table:
    """Return every draw, 400 mL where no other volume is given.

    References and those for the sessions to come are not reduced yet.
    """
    headings = ("sample", "kind", "filling", "batch", "drawn_on", "abv", "volume_ml", "reduced_to", "parts", "note")  # fmt: skip  # noqa: E501
    rows: list[tuple[object, ...]] = [
        (label, "reference", "", label[-1], drawn_on, 46, 12000, "", "", "vatted, bottled full")
        for label, (drawn_on, _, _) in REFERENCES.items()
    ]
    rows.append(TRIAL)
    for sample in sorted(samples, key=lambda one: (one.drawn_on, one.label)):
        if sample.filling is not None:
            abv = f"{sample.filling.abv_on(sample.drawn_on) + rng.normal(0.0, 0.05):.1f}"
            reduced = NOSING_ABV if sample.drawn_on < HELD_ON[-1] else ""
            row = (sample.label, "cask", sample.filling.label, "", sample.drawn_on, abv)
            rows.append((*row, volumes.get(sample.label, 400), reduced, "", ""))
    return headings, rows


def lexicon() -> Table:
    """Return the sixteen descriptors."""
    headings = (
        *("descriptor", "stage", "low_words", "high_words", "meaning", "reference"),
        *("introduced_on", "ought_to_be_absent"),
    )
    rows: list[tuple[object, ...]] = [
        (
            *(note.name, "nose", note.low_words, note.high_words, note.meaning, note.reference),
            *(since, "yes" if note.ought_to_be_absent else ""),
        )
        for note, since in zip(NOTES, [date(2020, 10, 1)] * len(NOTES), strict=True)
    ]
    return headings, rows


def assessors() -> Table:
    """Return the nine noses, the panel lead and the pourer."""
    rows: list[tuple[object, ...]] = [("Heron", "lead+blender", date(2020, 9, 1))]
    rows.append(("Willow", "pourer", date(2020, 9, 1)))
    rows += [(nose.code, "assessor", nose.joined_on) for nose in NOSES]
    return ("assessor", "roles", "joined_on"), rows


def plans() -> Table:
    """A plan of the stock: a Lantern a year, and what must be left when all are made."""
    headings = ("plan", "release", "year", "target", "bottles", "abv", "age", "rule_set", "limits")
    whole = ("Five years", "", "", "", "", "", "", "", "draw 3000; stay 1500 make=Ember 18-22")
    years = [
        ("Five years", f"Lantern {year}", year, "Lantern", 1200, 46, 8, "", "casks 3-8; over 12")
        for year in range(2027, 2032)
    ]
    return headings, [whole, *years]


def targets() -> Table:
    """Return the one release target."""
    heavy = {"hearth smoke": 2, "custard skin": 2}
    rows: list[tuple[object, ...]] = [
        ("Lantern", note, aim, tolerance, heavy.get(note, 1))
        for note, (aim, tolerance) in AIMS.items()
    ]
    return ("target", "descriptor", "aim", "tolerance", "weight"), rows


def scores(scored: list[Scored]) -> Table:
    """Return the past evenings, one row a glass, one column a descriptor."""
    fixed = ("session", "held_on", "assessor", "sample", "kind", "replicate", "position", "status")
    rows: list[tuple[object, ...]] = [
        (
            one.evening.name, one.evening.held_on, one.nose.code, one.glass.sample.label,
            one.glass.kind, one.glass.replicate, one.position, one.status,
            *(one.scores.get(note) for note in NAMES),
        )
        for one in scored
    ]  # fmt: skip
    return (*fixed, *NAMES), rows


def next_session(scored: list[Scored]) -> Table:
    """Return what each assessor will say on the demo's evening."""
    notes = scored[0].evening.notes
    if any(one.evening.number != NEXT for one in scored):
        raise ValueError("these are scores of a past evening")
    rows: list[tuple[object, ...]] = [
        (
            one.nose.code, one.glass.sample.label, one.glass.kind, one.glass.replicate,
            *(one.scores.get(note) for note in notes),
        )
        for one in scored
    ]  # fmt: skip
    return ("assessor", "sample", "kind", "replicate", *notes), rows
