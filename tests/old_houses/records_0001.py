"""The plain files that the kept house of revision 0001 was loaded from, and what people scored."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date

MAKES = """\
make,site,cereal,phenol_ppm,campaign,note
Reed,Sallow Weir,barley,1.2,2012-2017,unpeated
Ember,Sallow Weir,barley,38,2013-2017,"heavy, slow cut"
"""
CASKS = """\
cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,filling,make,previous,owner,\
hold_reason,hold_until,site,warehouse,row,tier,note
W01,American oak,200,2012-05-02,1,63.5,195,W01/1,Reed,bourbon,,,,Sallow Weir,Osier Shed,A,1,
W02,American oak,200,2012-05-03,2,63.5,195,W02/1,Reed,bourbon,,,,Sallow Weir,Osier Shed,A,2,
W03,European oak,500,2012-06-11,1,63.4,490,W03/1,Reed,sherry,,,,Sallow Weir,Osier Shed,B,1,
W04,European oak,500,2013-04-20,2,63.5,488,W04/1,Ember,sherry,,,,Sallow Weir,Weir Loft,C,1,
W05,American oak,200,2013-04-21,1,63.5,194,W05/1,Ember,bourbon,,,,Sallow Weir,Weir Loft,C,2,
W05,American oak,200,2023-09-01,2,63.5,196,W05/2,Reed,malt,,,,Sallow Weir,Weir Loft,C,2,
W06,American oak,200,2013-05-07,3,63.6,193,W06/1,Reed,bourbon,,,,Sallow Weir,Weir Loft,C,3,
W07,American oak,250,2014-03-15,1,63.5,244,W07/1,Reed,bourbon,,struck match: nose again,\
2027-03-01,Sallow Weir,Osier Shed,D,1,
W08,American oak,200,2014-03-16,1,63.5,195,W08/1,Ember,bourbon,Private owner 3,,,Sallow Weir,\
Osier Shed,D,2,
W09,American oak,250,2014-08-30,2,63.5,245,W09/1,Ember,bourbon,,,,Sallow Weir,Osier Shed,D,3,
W10,European oak,500,2015-02-12,1,63.5,489,W10/1,Ember,sherry,,,,Sallow Weir,Weir Loft,E,1,
W11,European oak,500,2021-06-10,1,59.2,290,W11/1,,sherry,,,,Sallow Weir,Weir Loft,E,2,
W12,American oak,200,2016-01-22,1,63.5,195,W12/1,Reed,bourbon,,,,Sallow Weir,Weir Loft,E,3,
[/x],European oak,500,,,,,,,,,,,,,,,no spirit yet
"""
EVENTS = """\
filling,kind,happened_on,parent,litres,abv,site,warehouse,row,tier,note
W02/1,moved,2018-06-04,,,,Sallow Weir,Weir Loft,F,2,
W03/1,leak found,2019-02-11,,,,,,,,weeping at the head
W03/1,repaired,2019-02-13,,,,,,,,flagged and driven
W04/1,leak found,2026-01-06,,,,,,,,stave damp below the bung
W05/1,emptied,2021-06-10,,,,,,,,re-racked
W06/1,emptied,2021-06-10,,,,,,,,re-racked
W11/1,re-racked,2021-06-10,W05/1,146,59.5,,,,,
W11/1,re-racked,2021-06-10,W06/1,144,58.9,,,,,
W09/1,topped,2022-03-03,,12,62.1,,,,,from a sister cask
W10/1,reserved,2025-10-01,,60,,,,,,for the visitor room
W12/1,reserved,2025-10-01,,,,,,,,single cask
W12/1,freed,2026-01-05,,,,,,,,given back
"""
GAUGED = ("2019-10-01", "2025-11-03")
DRAWN = ("2023-11-06", "2026-01-08")
LEXICON = """\
descriptor,stage,low_words,high_words,version,meaning,reference,pools_with_previous,\
introduced_on,retired_on
hearth smoke,nose,not there,fills the room,1,cold grate and ash,lapsang tea,,2020-10-01,
custard skin,nose,not there,a whole bowl,1,sweet cooked milk,baked custard,,2020-10-01,2025-06-30
custard skin,nose,not there,a whole bowl,2,sweet cooked milk with vanilla,baked custard,yes,\
2025-07-01,
plum stone,nose,not there,stewed thick,1,dark fruit close to the stone,stewed prunes,,2020-10-01,
wet slate,nose,not there,rain on a roof,1,stone after rain,a wet slate,,2020-10-01,
boat shed,nose,not there,tar and rope,1,"tar, rope and varnish",,,2020-10-01,2024-12-31
"""
NOTES = ("hearth smoke", "custard skin", "plum stone", "wet slate")
ASSESSORS = """\
assessor,roles,joined_on,left_on
Heron,lead+blender,2020-09-01,
Willow,pourer,2020-09-01,
Wren,blender,2020-09-01,
Alder,assessor,2020-09-01,
Birch,assessor,2020-09-01,
Cress,assessor,2020-09-01,
Dock,assessor+pourer,2020-09-01,
Elder,assessor,2020-09-01,
Flag,assessor,2020-09-01,2025-12-31
Teasel,assessor,2020-09-01,
"""
TARGETS = """\
target,descriptor,aim,tolerance,weight
Lantern,hearth smoke,30,9,2
Lantern,custard skin,34,9,1
Lantern,plum stone,24,9,1
Millrace,custard skin,45,8,1
Millrace,wet slate,20,8,1
"""
OTHER_DRAWS = """\
REF-1,reference,,1,2022-12-07,46,12000,,,,kept full
BOTTLE-1,market,,1,2026-01-05,43,700,,,,bought over the counter
BENCH-1,trial,,,2026-01-09,,100,20,W01/1=60; W10/1=40,,by hand
"""


def level(sample: str, note: str) -> float:
    """What an invented liquid is like; the house's wood and peat can be seen in it."""
    cask = sample.split(maxsplit=1)[0]
    base = {"hearth smoke": 6.0, "custard skin": 32.0, "plum stone": 12.0, "wet slate": 18.0}[note]
    if cask in {"W04", "W05", "W08", "W09", "W10", "W11"} and note == "hearth smoke":
        base += 34.0
    if cask in {"W03", "W04", "W10", "W11"}:
        base += {"plum stone": 28.0, "custard skin": -12.0}.get(note, 0.0)
    return base + random.Random(f"{cask} {note}").uniform(-6, 6)


def score(session: str, who: str, sample: str, replicate: int, note: str) -> float:
    """What an assessor says of it: their own place on the line, and the evening's noise."""
    leans = random.Random(f"{who} {note}").uniform(-5, 5)
    noise = random.Random(f"{session} {who} {sample} {replicate} {note}").gauss(0, 5)
    return float(min(max(round(level(sample, note) + leans + noise), 0), 100))


def fillings() -> Iterator[tuple[str, date, float, float]]:
    for line in CASKS.replace("\\\n", "").splitlines()[1:]:
        cells = line.split(",")
        if cells[7]:
            yield cells[7], date.fromisoformat(cells[3]), float(cells[6]), float(cells[5])


def gauges() -> str:
    lines = ["filling,gauged_on,bulk_l,abv,method,temperature_c,note"]
    for label, filled_on, litres, abv in fillings():
        for day in map(date.fromisoformat, GAUGED):
            years = (day - filled_on).days / 365.25
            if years > 0 and (label not in {"W05/1", "W06/1"} or day.year < 2021):
                left, strength = litres * 0.98**years, abv - 0.35 * years
                lines.append(f"{label},{day},{left:.1f},{strength:.1f},weighed,12,")
    return "\n".join(lines) + "\n"


def draws() -> str:
    lines = ["sample,kind,filling,batch,drawn_on,abv,volume_ml,reduced_to,parts,reason,note"]
    for label, filled_on, _, abv in fillings():
        for day in map(date.fromisoformat, DRAWN):
            years = (day - filled_on).days / 365.25
            if years > 0 and label not in {"W05/1", "W06/1"}:
                name = f"{label[:3]} {day.year}"
                lines.append(f"{name},cask,{label},,{day},{abv - 0.35 * years:.1f},400,20,,nosing,")
    return "\n".join([*lines, OTHER_DRAWS])


def archive() -> str:
    """Return the scores of an evening that was held on paper."""
    lines = [f"session,held_on,assessor,sample,kind,replicate,position,{','.join(NOTES)}"]
    casks = ("W01", "W02", "W03", "W04", "W09", "W10", "W11", "W12")
    glasses = [(f"{cask} 2023", "test", 1) for cask in casks]
    glasses += [("W01 2023", "test", 2), ("REF-1", "reference", 1)]
    for who in ("Alder", "Birch", "Cress", "Dock", "Elder", "Flag", "Teasel"):
        for place, (sample, kind, replicate) in enumerate(glasses, start=1):
            said = [score("archive", who, sample, replicate, note) for note in NOTES]
            values = ",".join(f"{value:g}" for value in said)
            lines.append(f"archive,2023-11-20,{who},{sample},{kind},{replicate},{place},{values}")
    return "\n".join(lines) + "\n"
