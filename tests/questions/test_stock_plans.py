"""A plan of the stock as a record: loaded, asked for, one thing changed, kept, proposed, left."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest

from analysis.stock_plan import Ended, StockPlan
from panel.questions.plan_changes import moves_between
from panel.questions.plan_records import plan_record, stored_plan
from panel.questions.plan_settled import settled_litres
from panel.records.plan_limits import plan_asks, release_asks
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.releases import Release
from panel.store.stock_plans import StoredPlan
from panel.words.plan_words import moved_words
from tests.cli.calling import Call
from tests.release.conftest import gauged, house, oakpanel, weighed  # noqa: F401

HEAD = "plan,release,year,target,bottles,abv,age,rule_set,limits\n"
ROWS = (
    "Years,,,,,,,,draw 400; stay 50\n"
    "Years,Fen 2026,2026,Fen,120,46,,,parts; over 30\n"
    "Years,Fen 2027,2027,Fen,120,46,,,parts; over 30\n"
)


@pytest.fixture
def planned(oakpanel: Call, weighed: None, tmp_path: Path) -> Call:  # noqa: F811
    path = tmp_path / "plans.csv"
    path.write_text(HEAD + ROWS, encoding="utf-8")
    said = oakpanel("load", "plans", str(path))
    assert said.code == 0, said.out + said.err
    return oakpanel


def ask(planned: Call, *more: str) -> dict[str, object]:
    said = planned("stock", "plan", "Years", "--json", *more)
    assert said.code == 0, said.err
    found: dict[str, object] = said.document
    return found


def test_what_was_loaded_is_saved_and_changes_nothing_again(planned: Call, tmp_path: Path) -> None:
    path = tmp_path / "again.csv"
    assert planned("save", "plans", str(path)).code == 0
    assert path.read_text(encoding="utf-8").splitlines() == ((HEAD + ROWS).splitlines())
    assert "3 unchanged" in planned("load", "plans", str(path)).out
    template = tmp_path / "template.csv"
    assert planned("save", "plans", str(template), "--template").code == 0
    assert "empty: what holds for the plan as a whole" in template.read_text(encoding="utf-8")


def test_all_faults_of_a_file_are_told_at_once(planned: Call, tmp_path: Path, store: Store) -> None:
    path = tmp_path / "wrong.csv"
    path.write_text(
        HEAD
        + "P,R1,2027,Fenn,120,46,,,\n"  # no such target
        + "P,R2,,Fen,120,46,,,\n"  # no year
        + "P,R3,2027,Fen,120,46,,Old law,\n"  # no such rule set
        + "P,R4,2027,Fen,120,46,,,casks many; stay 9\n"  # two faults of limits
        + "P,,2027,,,,,,draw 100\n"  # a year of the whole
        + "P,R6,2027.5,Fen,120,146,,,\n",
        encoding="utf-8",
    )
    found = planned("load", "plans", str(path), "--json").document
    wrong = {(problem["row"], problem["column"]) for problem in found["problems"]}
    assert wrong >= {
        *((2, "target"), (3, "year"), (5, "limits"), (6, "year"), (7, "year"), (7, "abv")),
    }
    assert (4, "rule_set") in wrong or len(wrong) >= 6
    said = next(p["message"] for p in found["problems"] if p["row"] == 5)
    assert "not a number of casks" in said
    assert "the plan as a whole" in said
    with store.read() as db:
        assert db.query(StoredPlan).filter_by(name="P").count() == 0


def test_limits_are_read_into_values() -> None:
    asks, faults = release_asks("share wood=oak butt:0.3; casks 2-12; parts; with C1; note tar +3")
    assert faults == []
    assert (asks.shares, asks.casks, asks.whole) == (("wood=oak butt:0.3",), "2-12", False)
    assert (asks.include, asks.wider) == (("C1",), (("tar", 3.0),))
    whole, faults = plan_asks(
        "draw 900; stay 200 make=Reed 08-12 age=10-18; "
        "fill 2027-04-01 4 x 200 L at 63.5 wood=oak barrel make=Reed"
    )
    assert faults == []
    assert whole.most_litres_a_year == 900.0
    (left,) = whole.left
    assert (left.column, left.values, left.age_low, left.age_high) == (
        *("make", ("Reed 08-12",), 10.0, 18.0),
    )
    (fill,) = whole.fillings
    assert (fill.on, fill.casks, fill.wood, fill.make) == (
        *(date(2027, 4, 1), 4, "oak barrel", "Reed"),
    )
    assert "no filling such as" in plan_asks("fill soon")[1][0]
    assert "said of one release" in plan_asks("parts")[1][0]
    assert "'draw' stands twice" in plan_asks("draw 100; draw 200")[1][0]
    assert "no whole number of bottles" in release_asks("keep 2.7")[1][0]
    strong = plan_asks("fill 2027-04-01 4 x 190 L at 163.5 wood=oak")[1]
    assert "'163.5' is no strength" in strong[0]


def test_each_cask_is_spent_once_and_the_plan_says_bound_and_gap(planned: Call) -> None:
    found = ask(planned)
    assert {"releases", "bound", "gap", "joint", "sentence", "alone_objective"} <= found.keys()
    releases = found["releases"]
    assert isinstance(releases, list)
    assert [each["name"] for each in releases] == ["Fen 2026", "Fen 2027"]
    given: dict[str, float] = {}
    held: dict[str, float] = {}
    for each in releases:
        for part in each["mixture"]["parts"]:
            given[part["cask"]] = given.get(part["cask"], 0.0) + part["litres"]
            held[part["cask"]] = max(
                held.get(part["cask"], 0.0), part["litres"] + part["litres_left"]
            )
    assert all(litres <= held[cask] * 1.001 for cask, litres in given.items())
    text = " ".join(planned("stock", "plan", "Years").out.split())
    assert "release after release: each takes what lies nearest of what is left" in text
    assert "The plan reserves nothing" in text
    listed = planned("stock", "plans", "--json").document["plans"]
    assert [(each["plan"], len(each["lines"])) for each in listed] == [("Years", 2)]


@pytest.mark.slow
def test_a_change_is_told_beside_the_plan_as_it_is_recorded(planned: Call) -> None:
    releases = ask(planned)["releases"]
    assert isinstance(releases, list)
    cask = releases[0]["mixture"]["parts"][0]["cask"]
    found = ask(planned, "--hold", cask)
    assert found["changed"] == [f"cask {cask} held"]
    moves = found["moves"]
    assert isinstance(moves, list)
    assert any(cask in each["gone"] for each in moves)
    after = found["releases"]
    assert isinstance(after, list)
    assert all(
        cask not in {part["cask"] for part in each["mixture"]["parts"]}
        for each in after
        if each["mixture"]
    )
    assert "moved to 2027" in planned("stock", "plan", "Years", "--move", "Fen 2026", "2027").out
    wide = ask(planned, "--widen", "ember", "9")
    assert isinstance(wide["joint"], float)
    anew = ask(planned, "--widen", "ember", "9", "--anew")
    assert (anew["changed"], anew["nearer_anew"]) == (wide["changed"], False)
    nothing = planned("stock", "plan", "Years", "--anew")
    assert nothing.code == 2
    assert "Say what changes" in nothing.err


@pytest.mark.slow
def test_refused_in_words(planned: Call, tmp_path: Path) -> None:
    assert "There is no plan 'Yeats'" in planned("stock", "plan", "Yeats").err
    assert (
        "no release 'Fen 99'" in planned("stock", "plan", "Years", "--move", "Fen 99", "2027").err
    )
    assert "There is no cask 'XX' in stock" in planned("stock", "plan", "Years", "--hold", "XX").err
    assert "note of its targets" in planned("stock", "plan", "Years", "--widen", "mud", "3").err
    narrow = planned("stock", "plan", "Years", "--widen", "ember", "-3").err
    assert "by more than 0 points" in narrow
    path = tmp_path / "past.csv"
    path.write_text(HEAD + "Past,Fen 2020,2020,Fen,120,46,,,\n", encoding="utf-8")
    assert "is over: no cask can be planned for it" in planned("load", "plans", str(path)).err
    assert planned("load", "plans", str(path), "--sure").code == 0
    assert "before today" in planned("stock", "plan", "Past").err
    path.write_text(
        "descriptor,stage,low_words,high_words,meaning,reference,introduced_on\n"
        "kettle lid,nose,none,all,hot tin,a lid warmed,2026-01-01\n",
        encoding="utf-8",
    )
    assert planned("load", "lexicon", str(path)).code == 0
    path.write_text("target,descriptor,aim,tolerance\nTin,kettle lid,20,5\n", encoding="utf-8")
    assert planned("load", "targets", str(path)).code == 0
    path.write_text(f"{HEAD}Tinned,Tin 2027,2027,Tin,120,46,,,parts\n", encoding="utf-8")
    assert planned("load", "plans", str(path)).code == 0
    nobody = "has the line 'kettle lid', on which no cask has an estimate"
    assert nobody in planned("stock", "plan", "Tinned").err
    assert nobody in planned("vat", "Tin", "--bottles", "100").err


@pytest.mark.slow
def test_kept_proposed_and_left_by_reality(planned: Call, store: Store) -> None:
    first = "No casks are kept for Fen 2026"
    assert first in planned("release", "propose", "Fen 2026", "--from-plan", "Years").err
    kept = ask(planned, "--keep")
    assert (kept["kept_on"], kept["since"], kept["kept_otherwise"]) == ("2026-03-14", [], [])
    taken = planned("release", "propose", "Fen 2026", "--from-plan", "Years", "--json")
    assert taken.code == 0, taken.err
    releases = kept["releases"]
    assert isinstance(releases, list)
    assert {part["cask"] for part in taken.document["parts"]} == {
        part["cask"] for part in releases[0]["mixture"]["parts"]
    }
    second = releases[1]["mixture"]["parts"][0]["cask"]
    with store.write() as db:
        db.query(Filling).filter_by(label=f"{second}/1").one().hold_reason = "damp cellar"
    now = ask(planned)
    assert now["kept_otherwise"] == ["Fen 2027"]
    left = now["since"]
    assert isinstance(left, list)
    assert (second, "on hold") in {(each["cask"], each["what"]) for each in left}
    refused = planned("release", "propose", "Fen 2027", "--from-plan", "Years").err
    assert f"Cask {second}, meant for Fen 2027, is on hold: damp cellar" in refused
    assert "keep what it finds (`oakpanel stock plan 'Years' --keep`)" in refused
    assert planned("stock", "drop", "Years", "--release", "Fen 2027").code == 0
    assert planned("stock", "drop", "Years").code == 0
    assert "No plan yet" in planned("stock", "plans").out


def test_litres_of_a_release_that_is_proposed_count_in_its_year(
    planned: Call, store: Store
) -> None:
    taken = ("--target", "Fen", "--take", "C8=100", "--take", "C9=15", "--old-gauges", "flag")
    assert planned("release", "propose", "Fen 2027", *taken).code == 0

    def litres() -> dict[int, float]:
        with store.read() as db:
            record = plan_record(stored_plan(db, "Years"))
            return settled_litres(db, record)

    assert litres() == {2027: 115.0}
    assert planned("release", "cancel", "Fen 2027", "--reason", "another year").code == 0
    assert litres() == {}


def test_what_a_search_cut_short_lacks_is_not_put_down_to_a_change(
    planned: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(StockPlan, "unfinished", True)
    found = ask(planned, "--hold", "C8")
    assert (found["moves"], found["moves_known"], found["nearer_anew"]) == ([], False, False)
    told = " ".join(planned("stock", "plan", "Years", "--hold", "C8").out.split())
    assert told.startswith("With cask C8 held: What that moves is not known: a search was cut")


def test_all_faults_of_a_change_are_told_at_once(planned: Call) -> None:
    change = ("--hold", "C99", "--move", "Nope", "2029", "--move", "Fen 2026", "2020")
    said = planned("stock", "plan", "Years", *change, "--widen", "tarr", "3")
    assert said.code == 1
    for fault in ("no cask 'C99'", "no release 'Nope'", "2020 is over", "no note of its targets"):
        assert fault in said.err


def test_a_release_that_is_proposed_is_not_moved(planned: Call) -> None:
    taken = ("--target", "Fen", "--take", "C8=100", "--take", "C9=15", "--old-gauges", "flag")
    assert planned("release", "propose", "Fen 2027", *taken).code == 0
    said = planned("stock", "plan", "Years", "--move", "Fen 2027", "2028")
    assert "Fen 2027 is proposed: its casks are its own. Cancel it first." in said.err


def test_what_a_search_begun_anew_gains_is_not_put_down_to_the_change() -> None:
    """A cask taken away makes nothing surer; a fall may be owed to it, and is told as before."""

    def plan(
        surer: float, missing: float = 0.0, *, litres: float = 90.0, ended: Ended = Ended.DONE
    ) -> StockPlan:
        mixture = SimpleNamespace(parts=(SimpleNamespace(cask="a", litres=litres),))
        one = SimpleNamespace(
            name="Fen", casks=("a",), probability=surer, missing=missing, mixture=mixture
        )
        cut = ended is Ended.TIME
        given = {"releases": [one], "cut_short": cut, "release": lambda _: one}
        found: StockPlan = SimpleNamespace(**given)  # type: ignore[assignment]
        return found

    (gained,) = moves_between(plan(0.91, litres=80.0), plan(0.95), anew=True)
    assert "the change need not be why" in moved_words(gained)
    (filled,) = moves_between(plan(0.91, 0.5, litres=80.0), plan(0.80), anew=True)
    (fallen,) = moves_between(plan(0.95, litres=80.0), plan(0.91), anew=True)
    (from_last,) = moves_between(plan(0.91, litres=80.0), plan(0.95), anew=False)
    (same,) = moves_between(plan(0.91), plan(0.95), anew=True)  # the same draws: the change is why
    cut_short = plan(0.91, 1.0, litres=80.0, ended=Ended.TIME)
    (at_last,) = moves_between(cut_short, plan(0.95), anew=False)
    told = [each.by_new_search for each in (gained, filled, fallen, from_last, same, at_last)]
    assert told == [True, True, False, False, False, True]
    assert moved_words(from_last) == "Fen: chance .91 becomes .95."


def test_a_cask_that_another_release_has_fails_its_release_alone_and_says_who(
    planned: Call, tmp_path: Path
) -> None:
    """The others are planned; and bottles that are kept are taken off in the document too."""
    taken = ("--target", "Fen", "--take", "C8=100", "--take", "C9=15", "--old-gauges", "flag")
    assert planned("release", "propose", "Quay", *taken).code == 0
    path = tmp_path / "with.csv"
    rows = "Had,Fen 2028,2028,Fen,120,46,,,whole; over 90; with C8\n"
    rows += "Had,Fen 2029,2028,Fen,60,46,,,parts; over 60; keep 12\n"
    path.write_text(HEAD + rows, encoding="utf-8")
    assert planned("load", "plans", str(path)).code == 0
    found = planned("stock", "plan", "Had", "--json").document
    first, second = found["releases"]
    assert first["must_have"] == [
        {"cask": "C8", "release": "Quay", "reserved": True, "unfit": None}
    ]
    assert "it asks for cask C8, which is reserved for Quay" in found["sentence"]
    assert "free cask C8 of Quay, or plan Fen 2028 without it" in found["next_action"]
    assert first["mixture"] is None
    assert second["bottles_low"] == second["mixture"]["bottles"] - 12 >= 60


def test_a_cask_of_another_owner_is_told_of_in_a_plan_as_in_a_vatting(
    planned: Call, tmp_path: Path, store: Store
) -> None:
    with store.write() as db:
        filling = db.query(Filling).filter_by(label="C8/1").one()
        filling.owner, filling.hold_reason = "Fen & Daughters", "kept for the fair"
    path = tmp_path / "owned.csv"
    path.write_text(f"{HEAD}Owned,Fen 2027,2027,Fen,60,46,,,parts; with C8\n", encoding="utf-8")
    assert planned("load", "plans", str(path)).code == 0
    told = " ".join(planned("stock", "plan", "Owned").out.split())
    assert "! cask C8: " in told
    assert "Fen & Daughters" in told
    assert "kept for the fair" in told


def test_a_release_of_the_same_name_in_two_plans_is_said_in_each(
    planned: Call, tmp_path: Path
) -> None:
    path = tmp_path / "other.csv"
    path.write_text(HEAD + "Other,Fen 2027,2027,Fen,60,46,,,parts; over 60\n", encoding="utf-8")
    assert planned("load", "plans", str(path)).code == 0
    said = "Fen 2027 stands in plan Years too: proposed from one plan, its name is taken in the"
    found = planned("stock", "plan", "Other", "--json").document
    assert any(each.startswith(said) for each in found["checks"])
    taken = ("--target", "Fen", "--take", "C8=100", "--take", "C9=15", "--old-gauges", "flag")
    assert planned("release", "propose", "Fen 2027", *taken).code == 0
    refused = planned("stock", "plan", "Other")
    assert "Every release of plan 'Other' is proposed or further: Fen 2027." in refused.err


def test_a_release_is_settled_in_the_plan_that_it_was_proposed_from_alone(
    planned: Call, tmp_path: Path, store: Store
) -> None:
    path = tmp_path / "other.csv"
    path.write_text(HEAD + "Other,Fen 2027,2027,Fen,60,46,,,parts; over 60\n", encoding="utf-8")
    assert planned("load", "plans", str(path)).code == 0
    ask(planned, "--keep")
    assert planned("release", "propose", "Fen 2027", "--from-plan", "Years").code == 0
    assert ask(planned)["settled"] == {"Fen 2027": "proposed"}
    other = planned("stock", "plan", "Other", "--json").document
    assert other["settled"] == {}
    said = "Fen 2027 is the name of another release of plan Years for target Fen, proposed: give"
    assert other["checks"][0].startswith(said)
    path.write_text(HEAD + "Third,Fen 2027,2027,Fen,60,46,,,parts\n", encoding="utf-8")
    assert said in planned("load", "plans", str(path)).err
    with store.write() as db:  # what becomes of its casks is told until they are drawn
        cask = db.query(Release).one().parts[0].filling.cask.number
        db.query(Filling).filter_by(label=f"{cask}/1").one().hold_reason = "damp cellar"
    told = f"Of Fen 2027, proposed: Cask {cask} is on hold: damp cellar."
    assert told in [each["sentence"] for each in ask(planned)["since"]]  # type: ignore[attr-defined]
    shown = planned("release", "show", "Fen 2027")
    assert f"! Cask {cask}" in shown.out
    assert "damp cellar" in shown.out
    assert planned("release", "show", "Fen 2027", "--json").document["since"] == [
        f"Cask {cask} is on hold: damp cellar."
    ]


def test_what_no_target_and_no_cask_has_is_refused_by_name(planned: Call, tmp_path: Path) -> None:
    """A note's slip, a filling that is over and a record of no cask are no shortage."""
    path = tmp_path / "slips.csv"
    rows = "Slip,Fen 2027,2027,Fen,60,46,,,parts; note embr +3\n"
    rows += "Slip,,,,,,,,fill 2025-01-01 4 x 190 L at 63.5 wood=oak\n"
    rows += "Red,Fen 2027,2027,Fen,60,46,,,parts\nRed,,,,,,,,stay 100 colour=red\n"
    rows += "Strong,,,,,,,,fill 2027-04-01 4 x 190 L at 163.5 make=Nope wood=plastic; hold C99\n"
    rows += (
        "Strong,Old,2019,Fen,60,46,,,casks 8-3; keep 2.7; with C8; without C8; share make=No:1\n"
    )
    rows += "Strong,Much,2027,Fen,60,46,,,share wood=oak butt:0.7; share wood=oak hogshead:0.6\n"
    path.write_text(HEAD + rows, encoding="utf-8")
    said = planned("load", "plans", str(path), "--json")
    assert said.code == 1
    told = {(each["row"], each["value"]): each["message"] for each in said.document["problems"]}
    assert "no note of target Fen 'embr'; nearest: ember" in told[2, "embr"]
    assert "is over" in told[3, "2025-01-01"]
    assert "no record of casks 'colour'" in told[5, "colour"]
    assert {(6, "Nope"), (6, "plastic"), (6, "C99"), (7, "2019"), (7, "No")} <= told.keys()
    whole = " ".join(told.values())
    for fault in (
        *("'163.5' is no strength", "'8-3': one cask or more, and the lower", "no whole number"),
        *("cask C8 must be in and must not be in", "by wood come to at least 128 %"),
    ):
        assert fault in whole
    assert whole.count("C8") == 1


def test_what_was_recorded_is_refused_with_every_fault(planned: Call, store: Store) -> None:
    """What was taken in before is told of at once too, the solver's faults beside the house's."""
    with store.write() as db:
        plan = db.query(StoredPlan).filter_by(name="Years").one()
        plan.limits = "hold C99; stay 100 colour=red; fill 2025-01-01 4 x 190 L at 63.5"
        plan.releases[0].limits = "note embr +3; with C8; without C8x"
    said = planned("stock", "plan", "Years").err
    for fault in (
        *("There is no cask 'C99'", "has no note 'embr'", "expected on 2025-01-01 is over"),
        *("no record 'colour'", "Cask C8x (must not be in) is not in stock"),
    ):
        assert fault in said
    with store.write() as db:
        db.query(StoredPlan).filter_by(name="Years").one().limits = "draw 100; draw 200"
    assert "As a whole: 'draw' stands twice: keep one." in planned("stock", "plan", "Years").err


def test_a_year_without_notes_has_no_chance_in_the_document_either(
    planned: Call, tmp_path: Path
) -> None:
    """The document is held against its schema by every call: there a chance may be none."""
    path = tmp_path / "late.csv"
    path.write_text(HEAD + "Late,Fen 2031,2031,Fen,60,46,,,parts; over 60\n", encoding="utf-8")
    assert planned("load", "plans", str(path)).code == 0
    (late,) = planned("stock", "plan", "Late", "--json").document["releases"]
    assert late["litres_only"]
    assert late["mixture"]["probability"] is None
