"""What is saved loads into the same records: CSV byte for byte, workbooks value for value."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from panel.errors import IntakeError
from panel.intake.file_out import write_sheet
from panel.intake.kinds import OF_PEOPLE, Kind
from panel.intake.loading import load_file, load_rows
from panel.intake.saved_records import Sheet
from panel.intake.saving import save_file
from panel.store.engine import Store
from panel.store.opening import make_database
from tests.examples import examples
from tests.intake.files import BY, NOW, House, table
from tests.intake.test_held_sessions import hold
from tests.intake.test_scores import LONG, ROWS

KEYED = {Kind.ANSWERS, Kind.TRACES, Kind.STAGES}
"""What is keyed in for an open session, which no other file brings."""
FEW = settings(
    max_examples=examples(3),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
NewHouse = Callable[[], House]
SHOWN = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Cf"))
ODD = st.sampled_from(
    [
        "[/x]",
        "=1+1",
        "'=x",
        "+A",
        "-B",
        "@C",
        "a;b",
        'say "x"',
        "a,b",
        "e\u0301",
        "_x000D_",
        "007",
        "1e5",
        "2024-01-01",
        "yes",
        "'t",
        "#N/A",
    ]
)
TEXT = (ODD | st.text(SHOWN, min_size=1, max_size=8)).map(str.strip).filter(bool)
NOTE = st.none() | TEXT | st.just("two\nlines")
DAY = st.dates(date(1990, 1, 1), date(2026, 3, 14))


def positive(high: float, low: float = 0.001) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, exclude_min=True) | st.integers(
        max(1, int(low) + 1), int(high)
    ).map(float)


class Typed(str):
    """A cell as it was typed in another row."""


def cell(value: Any) -> str:
    """Return what a person would type for a value."""
    if value is None:
        return ""
    if isinstance(value, Typed):
        return value
    if isinstance(value, float):
        return repr(value)
    text = str(value)
    return f"'{text}" if text.lstrip("'")[:1] in set("=+-@") and text[:1] in set("'=+-@") else text


def rows(**columns: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, str]]:
    return st.fixed_dictionaries(columns).map(
        lambda row: {name: cell(value) for name, value in row.items()}
    )


def unique(kind: st.SearchStrategy[dict[str, str]], key: str, most: int = 5) -> Any:
    # Two spellings of one letter are one name.
    import unicodedata

    return st.lists(
        kind,
        min_size=1,
        max_size=most,
        unique_by=lambda row: unicodedata.normalize("NFC", row[key]).strip(),
    )


@st.composite
def houses(draw: st.DrawFn) -> list[tuple[Kind, list[dict[str, str]]]]:
    """Give the rows of a whole small house, kind by kind."""
    makes = draw(
        unique(
            rows(
                make=TEXT,
                site=TEXT,
                cereal=TEXT,
                phenol_ppm=st.floats(0, 999),
                campaign=NOTE,
                note=NOTE,
            ),
            "make",
            3,
        )
    )
    named = st.sampled_from([Typed(row["make"]) for row in makes])
    casks = draw(
        unique(
            rows(
                cask=TEXT,
                wood=TEXT,
                size_l=positive(900, 600),
                filled_on=DAY,
                fill_number=st.integers(1, 9),
                fill_abv=positive(100, 50),
                fill_bulk_l=positive(500),
                make=named,
                previous=NOTE,
                owner=NOTE,
                hold_reason=TEXT,
                hold_until=st.none() | st.dates(date(2000, 1, 1), date(2099, 1, 1)),
                warehouse=NOTE,
                row=NOTE,
                note=NOTE,
            ),
            "cask",
        )
    )
    filled = {row["cask"]: date.fromisoformat(row["filled_on"]) for row in casks}
    gauges, events, draws = [], [], []
    for number, day in filled.items():
        later = st.dates(day, date(2026, 3, 14))
        gauges += draw(
            st.lists(
                rows(
                    cask=st.just(Typed(number)),
                    gauged_on=later,
                    bulk_l=st.floats(0, 600),
                    abv=positive(64, 20),
                    method=st.sampled_from(["dipped", "weighed"]),
                    temperature_c=st.none() | st.floats(-20, 40),
                    note=NOTE,
                ),
                max_size=2,
                unique_by=lambda row: row["gauged_on"],
            )
        )
        events += draw(
            st.lists(
                rows(
                    cask=st.just(Typed(number)),
                    kind=st.sampled_from(["leak found", "repaired", "reserved", "freed"]),
                    happened_on=later,
                    litres=st.none() | positive(500),
                    note=NOTE,
                ),
                max_size=2,
                unique_by=lambda row: (row["kind"], row["happened_on"]),
            )
        )
        draws += draw(
            st.lists(
                rows(
                    sample=TEXT,
                    kind=st.just("cask"),
                    cask=st.just(Typed(number)),
                    drawn_on=later,
                    abv=st.none() | positive(64, 50),
                    volume_ml=st.none() | positive(1000),
                    reduced_to=st.none() | positive(50, 1),
                    batch=NOTE,
                    reason=NOTE,
                    fate=NOTE,
                    note=NOTE,
                ),
                max_size=1,
            )
        )
    words = draw(
        unique(
            rows(
                descriptor=TEXT,
                stage=st.sampled_from(["nose", "finish"]),
                low_words=TEXT,
                high_words=TEXT,
                meaning=NOTE,
                reference=NOTE,
                introduced_on=st.none() | DAY,
            ),
            "descriptor",
            4,
        )
    )
    people = draw(
        unique(
            rows(
                assessor=TEXT,
                roles=st.sampled_from(["assessor", "lead+blender", "none", "assessor+pourer"]),
                joined_on=st.none() | DAY,
                name=st.none() | TEXT,
            ),
            "assessor",
            4,
        )
    )
    targets = [
        {
            "target": "[/x]",
            "descriptor": row["descriptor"],
            "aim": cell(draw(st.floats(0, 100))),
            "tolerance": cell(draw(positive(50))),
        }
        for row in words
    ]
    seen: dict[str, dict[str, str]] = {}
    for row in draws:
        seen.setdefault(row["sample"].strip(), row)
    found = [
        (Kind.MAKES, makes),
        (Kind.CASKS, casks),
        (Kind.EVENTS, events),
        (Kind.REGAUGES, gauges),
        (Kind.DRAWS, list(seen.values())),
        (Kind.LEXICON, words),
        (Kind.ASSESSORS, people),
        (Kind.TARGETS, targets),
    ]
    return [(kind, many) for kind, many in found if many]


def copy(house: House, other: House, kind: Kind, ending: str, **options: Any) -> None:
    name = f"{kind.value}{ending}"
    house.saved(kind, name, **options)
    report = load_file(other.store, kind, house.folder / name, now=NOW, by=BY)
    assert report.problems == (), [problem.sentence() for problem in report.problems]


@pytest.mark.slow
@FEW
@given(records=houses())
def test_a_house_of_odd_texts_and_numbers_comes_back_exactly(
    records: list[tuple[Kind, list[dict[str, str]]]], new_house: NewHouse
) -> None:
    house, by_csv, by_workbook = new_house(), new_house(), new_house()
    for kind, many in records:
        report = load_rows(house.store, kind, many, now=NOW, by=BY)
        assert report.problems == (), [problem.sentence() for problem in report.problems]
        names: dict[str, Any] = {"names": True} if kind is Kind.ASSESSORS else {}
        copy(house, by_csv, kind, ".csv", **names)
        copy(house, by_workbook, kind, ".xlsx", **names)
        first = house.saved(kind, **names)
        assert by_csv.saved(kind, **names) == first
        assert by_workbook.saved(kind, **names) == first


@FEW
@given(
    scores=st.lists(st.none() | st.floats(0, 100), min_size=12, max_size=12),
    positions=st.lists(st.none() | st.integers(0, 9), min_size=6, max_size=6),
    states=st.lists(st.sampled_from(["kept", "void", "swap_suspected"]), min_size=6, max_size=6),
    words=st.lists(TEXT, min_size=2, max_size=2, unique=True),
    knew=st.booleans(),
)
def test_scores_come_back_exactly_in_every_shape(
    scores: list[float | None],
    positions: list[int | None],
    states: list[str],
    words: list[str],
    knew: bool,
    new_house: NewHouse,
) -> None:
    house = new_house()
    scores[0] = scores[0] or 0.0  # a wide file without any score has no descriptor to name
    suffix = "+knew_key" if knew else ""
    many = [
        {
            "session": f"N{glass % 2}",
            "assessor": f"A{glass % 3}",
            "sample": f"=S{glass}",
            "position": cell(positions[glass]),
            "status": states[glass] + (suffix if glass % 3 == 0 else ""),
            "descriptor": cell(word),
            "score": cell(scores[2 * glass + number]),
        }
        for glass in range(6)
        for number, word in enumerate(words)
    ]
    path = house.file("")
    lines = [list(many[0]), *(list(row.values()) for row in many)]
    write_sheet(Sheet(tuple(lines[0]), iter([])), path, force=True)
    with path.open("w", encoding="utf-8", newline="") as file:
        import csv

        csv.writer(file).writerows(lines)
    report = load_file(house.store, Kind.SCORES, path, now=NOW, by=BY, create=True)
    assert report.problems == (), [problem.sentence() for problem in report.problems]
    shapes: list[dict[str, Any]] = [{"wide": False}, {"wide": True}]
    for shape in shapes:
        for ending in (".csv", ".xlsx"):
            other = new_house()
            name = f"scores{ending}"
            house.saved(Kind.SCORES, name, **shape)
            same = load_file(
                other.store, Kind.SCORES, house.folder / name, now=NOW, by=BY, create=True
            )
            if not same.rows:
                continue
            assert same.problems == (), [problem.sentence() for problem in same.problems]
            # Without draws the kind of a created sample is all that tells it.
            assert other.saved(Kind.SCORES, **shape) == house.saved(Kind.SCORES, **shape)


def test_what_is_saved_of_an_empty_kind_loads_again(empty: House) -> None:
    for kind in Kind:
        report = empty.load(kind, empty.saved(kind))
        assert report.problems == (), kind


@pytest.mark.parametrize("kind", sorted(OF_PEOPLE))
def test_what_speaks_of_people_is_a_file_of_its_owner_alone(empty: House, kind: Kind) -> None:
    empty.saved(kind)
    assert (empty.folder / "saved.csv").stat().st_mode & 0o777 == 0o600


def test_a_file_that_is_there_is_not_replaced_unasked(house: House) -> None:
    path = house.file("mine", "mine.csv")
    with pytest.raises(IntakeError, match="there already"):
        save_file(house.store, Kind.MAKES, path)
    assert path.read_text() == "mine"
    save_file(house.store, Kind.MAKES, path, force=True)
    assert path.read_text().startswith("make,site")


@pytest.mark.parametrize(
    ("name", "words"), [("no/such.csv", "cannot be written"), ("x.ods", ".csv or .xlsx")]
)
def test_places_that_cannot_be_written(house: House, name: str, words: str) -> None:
    with pytest.raises(IntakeError, match=words):
        save_file(house.store, Kind.MAKES, house.folder / name)


def test_a_failed_save_leaves_the_old_file_and_no_other(house: House) -> None:
    path = house.file("old", "x.xlsx")

    def broken() -> Any:
        yield ("fine",)
        yield ("x" * 40_000,)

    with pytest.raises(IntakeError, match="does not fit"):
        write_sheet(Sheet(("note",), broken()), path, force=True)
    assert path.read_text() == "old"
    assert [one.name for one in house.folder.glob(".*")] == []


def test_wide_is_refused_where_one_row_cannot_tell(house: House) -> None:
    headings = f"{LONG},scale_low,scale_high"
    sheet = table(headings, (*ROWS[0], 0, 100), (*ROWS[1], 0, 10))
    house.take(Kind.SCORES, sheet)
    with pytest.raises(IntakeError, match="without --wide"):
        house.saved(Kind.SCORES, wide=True)


def test_days_before_spreadsheets_are_kept(tmp_path: Path, store: Store) -> None:
    day = date(1900, 2, 28)
    rows_of = [("x", day), ("y", day + timedelta(days=1))]
    write_sheet(Sheet(("assessor", "joined_on"), iter(rows_of)), tmp_path / "p.xlsx", force=False)
    report = load_file(store, Kind.ASSESSORS, tmp_path / "p.xlsx", now=NOW, by=BY)
    assert report.problems == ()
    save_file(store, Kind.ASSESSORS, tmp_path / "p.csv")
    assert (tmp_path / "p.csv").read_text().splitlines()[1:] == [
        "x,assessor,1900-02-28,",
        "y,assessor,1900-03-01,",
    ]


def test_the_same_on_a_database_server(postgres_store: Store, house: House) -> None:
    """The bulk writing of scores must not lean on SQLite."""
    from panel.kinds import SessionStatus

    hold(house, SessionStatus.REVEALED)
    house.take(Kind.SCORES, table(LONG, *ROWS))
    server = House(postgres_store, house.folder)
    for kind in Kind:
        if kind in {Kind.EVENTS, Kind.REGAUGES, Kind.TARGETS, Kind.OWN_SCORES} | KEYED:
            continue
        server.take(kind, house.saved(kind))
        assert server.saved(kind, "server.csv") == house.saved(kind)
    changed = table(LONG, (*ROWS[0][:5], 77.5), (*ROWS[1][:5], ""))
    assert server.take(Kind.SCORES, changed, update=True).changed == 2


def test_make_database_is_what_new_house_uses(tmp_path: Path) -> None:
    store = make_database(str(tmp_path / "other.sqlite"))
    assert (
        House(store, tmp_path).saved(Kind.MAKES) == b"make,site,cereal,phenol_ppm,campaign,note\n"
    )
    store.close()
