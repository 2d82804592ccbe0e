"""The demo's plain files: they come out the same every time, and hold what was planted."""

from __future__ import annotations

import csv
from collections import Counter, defaultdict
from datetime import date
from pathlib import Path
from statistics import fmean

import pytest

import demo_panel
from demo_panel.make_demo_panel import make_all

FOLDER = Path(demo_panel.__file__).parent
FILES = (
    "makes",
    "casks",
    "events",
    "regauges",
    "draws",
    "lexicon",
    "assessors",
    "targets",
    "plans",
    "scores",
    "mornings",
    "next_session",
)
Row = dict[str, str]


def rows(name: str) -> list[Row]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def one(name: str, **wanted: str) -> Row:
    found = [row for row in rows(name) if all(row[key] == wanted[key] for key in wanted)]
    assert len(found) == 1
    return found[0]


def lpa(row: Row) -> float:
    return float(row["bulk_l"]) * float(row["abv"]) / 100


@pytest.fixture(scope="module")
def notes() -> list[str]:
    return [row["descriptor"] for row in rows("lexicon")]


def test_the_script_writes_the_committed_files_byte_for_byte(tmp_path: Path) -> None:
    make_all(tmp_path)
    assert sorted(path.stem for path in tmp_path.iterdir()) == sorted(FILES)
    for name in FILES:
        written = (tmp_path / f"{name}.csv").read_bytes()
        assert written == (FOLDER / f"{name}.csv").read_bytes(), name


def test_the_size_of_the_world(notes: list[str]) -> None:
    casks = rows("casks")
    assert len({row["cask"] for row in casks}) == 240
    assert sum(row["filled_on"] == "" for row in casks) == 2
    filled = [date.fromisoformat(row["filled_on"]) for row in casks if row["filled_on"]]
    assert min(filled).year == 2008
    assert max(filled).year == 2026
    assert {row["fill_number"] for row in casks} == {"1", "2", "3", "4", ""}
    assert {row["make"].split()[0] for row in rows("makes")} == {"Reed", "Ember", "Turf"}
    assert len(set(notes)) == 16
    roles = Counter(row["roles"] for row in rows("assessors"))
    assert roles == {"assessor": 9, "lead+blender": 1, "pourer": 1}
    assert len({row["target"] for row in rows("targets")}) == 1


def test_no_record_lies_after_october_2026() -> None:
    dated = {
        "casks": "filled_on",
        "events": "happened_on",
        "regauges": "gauged_on",
        "draws": "drawn_on",
        "scores": "held_on",
    }
    days = [row[column] for name, column in dated.items() for row in rows(name) if row[column]]
    assert max(map(date.fromisoformat, days)) < date(2026, 11, 1)


def test_every_evening_has_six_tests_a_duplicate_and_a_reference(notes: list[str]) -> None:
    evenings: dict[str, list[Row]] = defaultdict(list)
    for row in rows("scores"):
        evenings[row["session"]].append(row)
    assert len(evenings) == 30
    for glasses in evenings.values():
        tests = {(r["sample"], r["replicate"]) for r in glasses if r["kind"] == "test"}
        assert len(tests) == 7
        assert Counter(replicate for _, replicate in tests) == {"1": 6, "2": 1}
        assert any(r["kind"] == "reference" for r in glasses)
        assert sum(any(r[note] for r in glasses) for note in notes) == 10
        core = [row["descriptor"] for row in rows("targets")]
        assert all(any(r[note] for r in glasses) for note in core)


def test_evenings_are_linked_by_retained_samples_and_by_overlapping_references() -> None:
    nights: dict[str, set[str]] = defaultdict(set)
    for row in rows("scores"):
        nights[row["sample"]].add(row["session"])
    last_of_old, first_of_new = max(nights["REF-1"]), min(nights["REF-2"])
    assert first_of_new <= last_of_old
    assert len(nights["REF-1"] & nights["REF-2"]) == 3
    came_back = [n for sample, n in nights.items() if not sample.startswith("REF") and len(n) > 1]
    assert len(came_back) > 15


def test_some_assessors_missed_evenings_and_some_glasses_were_never_nosed() -> None:
    glasses = Counter((row["session"], row["assessor"]) for row in rows("scores"))
    assert len(glasses) < 30 * 9
    nights = {session for session, _ in glasses}
    full = {
        night: max(n for (session, _), n in glasses.items() if session == night) for night in nights
    }
    assert any(n < full[session] for (session, _), n in glasses.items())


def test_a_leaking_cask_lost_a_quarter_and_was_repaired() -> None:
    found = one("events", kind="leak found")
    one("events", kind="repaired", filling=found["filling"])
    gauges = [row for row in rows("regauges") if row["filling"] == found["filling"]]
    before, at_leak = gauges[1], gauges[2]
    assert at_leak["gauged_on"] == found["happened_on"]
    assert lpa(at_leak) / lpa(before) < 0.75
    assert lpa(gauges[3]) / lpa(at_leak) > 0.90


def test_no_other_regauge_gains_alcohol_or_loses_like_a_leak() -> None:
    leaking = one("events", kind="leak found")["filling"]
    last: dict[str, Row] = {}
    for row in rows("regauges"):
        before = last.get(row["filling"])
        last[row["filling"]] = row
        if before is None or row["filling"] == leaking:
            continue
        years = (
            date.fromisoformat(row["gauged_on"]) - date.fromisoformat(before["gauged_on"])
        ).days / 365.25
        kept = lpa(row) / lpa(before)
        assert kept < 1.005
        assert kept ** (1 / years) > 0.95


def test_a_butt_holds_what_three_emptied_barrels_gave() -> None:
    parents = [row for row in rows("events") if row["kind"] == "re-racked"]
    assert len(parents) == 3
    butt = one("casks", filling=parents[0]["filling"])
    assert butt["make"] == ""
    assert sum(float(row["litres"]) for row in parents) == pytest.approx(
        float(butt["fill_bulk_l"]), abs=0.05
    )
    for row in parents:
        one("events", kind="emptied", filling=row["parent"], happened_on=row["happened_on"])


def test_one_cask_is_close_to_40_percent() -> None:
    latest: dict[str, Row] = {}
    for row in rows("regauges"):
        latest[row["filling"]] = row
    weak = [row for row in latest.values() if float(row["abv"]) < 45]
    assert len(weak) == 1
    assert 40.0 < float(weak[0]["abv"]) < 41.0


def test_one_owner_three_holds_one_reservation() -> None:
    casks = rows("casks")
    assert sum(bool(row["owner"]) for row in casks) == 1
    assert sum(bool(row["hold_reason"]) for row in casks) == 3
    one("events", kind="reserved")


def mean(who: str, note: str, samples: set[str]) -> float:
    scores = [
        float(row[note])
        for row in rows("scores")
        if row["assessor"] == who and row["sample"] in samples and row[note]
    ]
    return fmean(scores)


def test_the_musty_cask_is_noticed_by_four_of_nine() -> None:
    held = [row["filling"] for row in rows("casks") if row["hold_reason"].startswith("damp")]
    samples = {row["sample"] for row in rows("draws") if row["filling"] in held}
    assert len(samples) == 2
    noses = [row["assessor"] for row in rows("assessors") if row["roles"] == "assessor"]
    notice = {who for who in noses if mean(who, "damp cellar", samples) > 20}
    assert notice == {"Rowan", "Wren", "Hazel", "Linnet"}
    assert all(mean(who, "damp cellar", samples) < 3 for who in set(noses) - notice)


def test_linnet_smells_nothing_of_pressed_violets() -> None:
    everything = {row["sample"] for row in rows("draws")}
    assert mean("Linnet", "pressed violets", everything) < 1
    assert mean("Hazel", "pressed violets", everything) > 8


def test_two_glasses_are_swapped_on_one_tray() -> None:
    night = [row for row in rows("scores") if row["session"] == "night-23"]
    smoke: dict[str, dict[str, float]] = defaultdict(dict)
    for row in night:
        if row["kind"] == "test" and row["replicate"] == "1" and row["hearth smoke"]:
            smoke[row["sample"]][row["assessor"]] = float(row["hearth smoke"])
    others = {
        sample: fmean(v for who, v in said.items() if who != "Aspen")
        for sample, said in smoke.items()
    }
    off = {sample: smoke[sample]["Aspen"] - others[sample] for sample in others}
    ranked = sorted(off, key=off.__getitem__)
    assert off[ranked[0]] < -25
    assert off[ranked[-1]] > 25
    assert all(abs(off[sample]) < 20 for sample in ranked[1:-1])


def test_one_glass_is_void() -> None:
    assert one("scores", status="void")["session"] == "night-12"


def test_teal_moves_upward_after_june_2024() -> None:
    lines = [row["descriptor"] for row in rows("targets")]

    def above_the_others(first: str, last: str) -> float:
        said: dict[str, list[float]] = {"Teal": [], "others": []}
        for row in rows("scores"):
            if row["kind"] == "reference" and first <= row["held_on"] <= last:
                who = "Teal" if row["assessor"] == "Teal" else "others"
                said[who] += [float(row[line]) for line in lines if row[line]]
        return fmean(said["Teal"]) - fmean(said["others"])

    assert above_the_others("2025-06-01", "2026-12-31") > above_the_others("2021", "2024-06") + 3


def test_the_next_session_is_ten_lines_for_nine_assessors_and_eight_glasses() -> None:
    coming = rows("next_session")
    assert len(coming) == 9 * 8
    assert len(coming[0]) == 4 + 10
    assert all(value for row in coming for value in row.values())
    known = {row["sample"] for row in rows("draws")}
    assert {row["sample"] for row in coming} <= known
    seen = {row["sample"] for row in rows("scores")}
    tests = {row["sample"] for row in coming if row["kind"] == "test"}
    assert len(tests) == 6
    assert len(tests & seen) == 1
