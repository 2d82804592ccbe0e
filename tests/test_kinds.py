"""Kinds of session: each registry is complete, and nothing but a registry asks which kind it is."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

import panel
from panel.booth.kinds import FACES
from panel.cli.kinds import BY_COMMAND
from panel.kinds import KIND_FACTS, LinesFrom, SessionKind, pooled_kinds
from panel.seat.kinds import Place
from panel.store.booth_lines import SHEETS, all_line_tables
from tests.sources import modules_of

HOUSE = Path(panel.__file__).parent
REGISTRIES = {
    "panel.kinds": "KIND_FACTS",
    "panel.frames.kinds": "FRAMES",
    "panel.intake.session_kinds": "SCORE_FILES",
    "panel.session.kinds": "HELD",
    "panel.questions.kinds": "ANSWERS",
    "panel.words.kinds": "SESSION_LINES",
    "panel.seat.kinds": "PLACES",
    "panel.booth.kinds": "FACES",
    "panel.booth.aloud.kinds": "FACES",
    "panel.serve.kinds": "FACES",
    "panel.desk.kinds": "AGREEMENT_PAGES",
    "panel.report.kinds": "SESSION_REPORTS",
    "panel.cli.kinds": "BY_COMMAND",
}
OWN_LINES_ASKED = {
    "panel/cli/demo_mornings.py",  # what is written on whose ballots
    "panel/cli/session.py",  # a lexicon cannot be asked for as well
    "panel/frames/own_words.py",
    "panel/release/tasting_found.py",  # single people's words for the guide's cards
    "panel/questions/agreement.py",  # nobody shares a line: no agreement note by note
    "panel/session/checks.py",  # who shares no line is given every draw
    "panel/session/keyed_faults.py",  # a word of one's own is no note that could be unknown
    "panel/session/own_words.py",
    "panel/session/smoke.py",  # the same
    "panel/session/listed.py",  # the promised key `own_words` of its JSON
    "panel/session/summary.py",  # the same
    "panel/store/booth_words.py",
}
"""Where it matters whether assessors name words: what is done to words, and what is promised."""


@cache
def sources() -> tuple[tuple[str, ast.Module], ...]:
    """Give every module of the panel but the revisions, which know the tables of their day."""
    return tuple(each for each in modules_of("panel") if "/versions/" not in each[0])


def registry(module: str) -> Any:
    return getattr(import_module(module), REGISTRIES[module])


# ---------------------------------------------------------------------- complete


@pytest.mark.parametrize("module", REGISTRIES)
def test_each_registry_has_every_kind(module: str) -> None:
    assert set(registry(module)) == set(SessionKind)


def test_the_registries_are_all_there_are() -> None:
    found = {
        name.removesuffix(".py").replace("/", "."): node.target.id
        for name, tree in sources()
        for node in ast.walk(tree)
        if isinstance(node, ast.AnnAssign)
        and isinstance(node.target, ast.Name)
        and ast.unparse(node.annotation).startswith("dict[SessionKind,")
    }
    assert found == REGISTRIES


def test_every_source_of_lines_has_its_sheet() -> None:
    assert set(SHEETS) == set(LinesFrom)
    lies_in = [part for sheet in SHEETS.values() for part in sheet.tables.parts]
    assert {part.score for part in lies_in} == {part.score for part in all_line_tables()}
    assert len({part.score for part in all_line_tables()}) == len(all_line_tables())


def test_who_names_lines_has_a_screen_for_it() -> None:
    for kind, facts in KIND_FACTS.items():
        assert (Place.NAMING in FACES[kind]) is facts.own_lines
        assert {Place.BETWEEN, Place.AT_GLASS} <= set(FACES[kind])


def test_kinds_are_asked_for_by_flags_of_their_own() -> None:
    flags = [asked.flag for asked in BY_COMMAND.values()]
    assert flags.count(None) == 1
    assert len(set(flags)) == len(flags)


def test_only_sessions_on_the_lexicon_are_laid_side_by_side() -> None:
    assert pooled_kinds() == (SessionKind.PROFILE, SessionKind.STAGES)


# ---------------------------------------------------------------------- no branch


def branches(tree: ast.AST) -> Iterator[str]:
    """Give every place of a module that asks or says of which kind a session is."""
    values = {kind.value for kind in SessionKind} | {kind.name for kind in SessionKind}
    promised = {part for node in ast.walk(tree) if _is_document(node) for part in ast.walk(node)}
    for node in set(ast.walk(tree)) - promised:
        match node:
            case ast.Attribute(value=ast.Name("SessionKind"), attr=name) if name.isupper():
                yield ast.unparse(node)
            case ast.Call(func=ast.Name("SessionKind"), args=[ast.Constant()]):
                yield ast.unparse(node)
            case ast.Subscript(value=ast.Name("SessionKind")):
                yield ast.unparse(node)
            case ast.Attribute(attr="own_words") | ast.arg(arg="own_words"):
                yield ast.unparse(node)
            case ast.keyword(arg="own_words") | ast.AnnAssign(target=ast.Name("own_words")):
                yield ast.unparse(node)
            case ast.Compare():
                sides = [node.left, *node.comparators]
                if any(_is_kind(side) for side in sides) and any(
                    isinstance(part, ast.Constant) and part.value in values
                    for side in sides
                    for part in ast.walk(side)
                ):
                    yield ast.unparse(node)
                if any(isinstance(side, ast.Name) and side.id == "USUAL_KIND" for side in sides):
                    yield ast.unparse(node)


def _is_document(node: ast.AST) -> bool:
    """Whether it only names the keys that a document of JSON is promised to have."""
    return isinstance(node, ast.ClassDef) and [ast.unparse(base) for base in node.bases] == [
        "TypedDict"
    ]


def _is_kind(side: ast.AST) -> bool:
    named = side.value if isinstance(side, ast.Attribute) and side.attr == "value" else side
    return getattr(named, "attr", getattr(named, "id", "")).endswith("kind")


def test_nothing_but_a_registry_asks_which_kind_it_is() -> None:
    homes = {f"{module.replace('.', '/')}.py" for module in REGISTRIES}
    found = {name: list(branches(tree)) for name, tree in sources() if name not in homes}
    assert {name: where for name, where in found.items() if where} == {}
    assert len(found) > 200


@pytest.mark.parametrize(
    "line",
    [
        "if session.kind is SessionKind.OWN_WORDS: pass",
        "kind = SessionKind.PROFILE",
        "if session.kind in (SessionKind.PROFILE,): pass",
        "found = kind == SessionKind('own words')",
        "found = kind == SessionKind['OWN_WORDS']",
        "match session.kind:\n    case SessionKind.OWN_WORDS: pass",
        "if session.kind == 'own words': pass",
        "if session.kind.value in {'profile'}: pass",
        "if line.kind is not USUAL_KIND: pass",
        "if session.own_words: pass",
        "PanelSession(own_words=True)",
        "def page(name, *, own_words): pass",
        "class Told:\n    own_words: bool = False",
    ],
)
def test_a_branch_would_be_found(line: str) -> None:
    assert list(branches(ast.parse(line)))


def test_who_names_the_lines_is_asked_where_words_are_meant() -> None:
    asked = {
        name
        for name, tree in sources()
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and node.attr == "own_lines"
    }
    assert asked == OWN_LINES_ASKED


def test_where_lines_come_from_is_asked_by_the_sheets_alone() -> None:
    asked = {
        name
        for name, tree in sources()
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and node.id == "LinesFrom"
    }
    assert asked == {"panel/kinds.py", "panel/store/booth_lines.py"}


def test_the_kinds_import_nothing_of_the_house() -> None:
    tree = ast.parse((HOUSE / "kinds.py").read_text(encoding="utf-8"))
    named = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert named == {"__future__", "dataclasses", "enum"}
