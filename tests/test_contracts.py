"""The rooms of the house: every contract bites, no import leads in a circle, one way to write."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from copy import deepcopy
from graphlib import CycleError, TopologicalSorter
from importlib import import_module
from pathlib import Path
from typing import Any

import grimp
import pytest
from importlinter.application.use_cases import read_user_options
from importlinter.configuration import configure
from importlinter.contracts.forbidden import ForbiddenContract
from importlinter.contracts.layers import LayersContract
from importlinter.domain.contract import Contract

ROOT = Path(__file__).parent.parent
ROOMS = ("panel", "analysis")
CLASSES: dict[str, type[Contract]] = {"forbidden": ForbiddenContract, "layers": LayersContract}
BREACHES = [
    ("analysis-alone", "analysis.newton", "sqlalchemy"),
    ("analysis-alone", "analysis.profile.fit", "textual"),
    ("analysis-alone", "analysis.profile.fit", "panel.kinds"),
    ("booth-blind", "panel.seat.jobs", "panel.store.key"),
    ("booth-blind", "panel.booth.app", "panel.questions.cask_life"),
    ("booth-blind", "panel.store.booth_tray", "panel.store.draws"),
    ("booth-blind", "panel.booth.glass", "analysis.strength"),
    ("booth-blind", "panel.booth.between", "panel.report.html"),
    ("booth-blind", "panel.serve.pages", "panel.store.key"),
    ("booth-blind", "panel.serve.app", "panel.questions.cask_life"),
    ("booth-blind", "panel.serve.doing", "panel.kept"),
    ("serve-on-seat", "panel.serve.app", "panel.store.engine"),
    ("serve-on-seat", "panel.serve.pages", "panel.session.scoring"),
    ("serve-on-seat", "panel.serve.pages", "panel.booth.words"),
    ("who-reckons", "panel.store.filling_states", "analysis.strength"),
    ("who-reckons", "panel.intake.draws", "analysis.frames"),
    ("session-water", "panel.session.summary", "analysis.agreement"),
    ("words-only", "panel.words.release_sheet", "sqlalchemy"),
    ("words-only", "panel.words.answers", "panel.store.finding"),
    ("words-only", "panel.words.profile_words", "analysis.profile.fit"),
    ("ask-and-show", "panel.desk.casks", "sqlalchemy"),
    ("ask-and-show", "panel.cli.target", "panel.store.targets"),
    ("ask-and-show", "panel.cli.release", "panel.store.log"),
    ("ask-and-show", "panel.desk.blend_page", "panel.frames"),
    ("ask-and-show", "panel.report.session", "panel.store.log"),
    ("no-screen-below", "panel.questions.cask_life", "textual"),
    ("no-screen-below", "panel.store.engine", "click"),
    ("no-screen-below", "panel.report.html", "textual"),
    ("no-screen-below", "panel.serve.pages", "textual"),
    ("one-way", "panel.store.engine", "panel.records.people"),
    ("one-way", "panel.release.outcome", "panel.words.answers"),
    ("one-way", "panel.seat.jobs", "panel.words.answers"),
    ("one-way", "panel.desk.app", "panel.booth.app"),
    ("one-way", "panel.seat.jobs", "panel.serve.app"),
    ("one-way", "panel.words.answers", "panel.report.html"),
    ("one-way", "panel.attic", "panel.kinds"),
]
"""A contract, and an import that breaks it; a module that is not there yet is made first."""


@pytest.fixture(scope="module")
def graph() -> grimp.ImportGraph:
    return grimp.build_graph(*ROOMS, include_external_packages=True, cache_dir=None)


@pytest.fixture(scope="module")
def run_time() -> grimp.ImportGraph:
    return grimp.build_graph(*ROOMS, exclude_type_checking_imports=True, cache_dir=None)


def contracts() -> dict[str, Contract]:
    configure()
    options = read_user_options(str(ROOT / "pyproject.toml"))
    return {
        each["id"]: CLASSES[each["type"]](each["name"], options.session_options, each)
        for each in options.contracts_options
    }


def is_kept(name: str, graph: grimp.ImportGraph) -> bool:
    return bool(contracts()[name].check(deepcopy(graph), verbose=False).kept)


def with_import(graph: grimp.ImportGraph, importer: str, imported: str) -> grimp.ImportGraph:
    breached = deepcopy(graph)
    for module in (importer, imported):
        if module not in breached.modules:
            breached.add_module(module, is_squashed=not module.startswith(ROOMS))
    breached.add_import(
        importer=importer, imported=imported, line_number=1, line_contents=f"import {imported}"
    )
    return breached


@pytest.mark.parametrize("name", contracts())
def test_a_contract_is_kept_and_was_broken_on_trial(name: str, graph: grimp.ImportGraph) -> None:
    assert is_kept(name, graph)
    assert name in [contract for contract, _, _ in BREACHES]


@pytest.mark.parametrize(("name", "importer", "imported"), BREACHES)
def test_a_trial_breach_breaks_its_contract(
    name: str, importer: str, imported: str, graph: grimp.ImportGraph
) -> None:
    assert not is_kept(name, with_import(graph, importer, imported))


def refuse_circles(graph: grimp.ImportGraph) -> None:
    """Raise CycleError, which names the modules, where imports lead back to where they began."""
    imports = {each: graph.find_modules_directly_imported_by(each) for each in graph.modules}
    TopologicalSorter(imports).prepare()


def test_no_import_leads_in_a_circle_at_run_time(run_time: grimp.ImportGraph) -> None:
    refuse_circles(run_time)


def test_a_trial_circle_is_found(run_time: grimp.ImportGraph) -> None:
    with pytest.raises(CycleError, match=r"panel\.words\.columns"):
        refuse_circles(with_import(run_time, "panel.words.columns", "panel.words.answers"))


# ------------------------------------------------------------------ types at most


def run_time_nodes(node: ast.AST) -> Iterator[ast.AST]:
    """Walk what is run, leaving out what stands there for the type checker only."""
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return
    yield node
    for child in ast.iter_child_nodes(node):
        yield from run_time_nodes(child)


SENTENCES = frozenset({"verdict", "words", "bar_words", "cell_text", "chance_words", "age_words"})
"""Rooms of the analysis that say what was found, or how text is laid out, and reckon nothing."""


def more_than_types(source: str) -> list[str]:
    """Return what a module takes from the analysis that is neither a type nor a verdict's word."""
    return [
        f"{node.module}.{alias.name}"
        for node in run_time_nodes(ast.parse(source))
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "analysis"
        for alias in node.names
        if not is_type(node.module or "", alias.name)
    ] + [
        alias.name
        for node in run_time_nodes(ast.parse(source))
        if isinstance(node, ast.Import)
        for alias in node.names
        if alias.name.split(".")[0] == "analysis"
    ]


def is_type(module: str, name: str) -> bool:
    value: Any = getattr(import_module(module), name)
    says = not SENTENCES.isdisjoint(module.split("."))
    return isinstance(value, type) or not callable(value) or says


@pytest.mark.parametrize("room", ["words", "desk", "report", "cli"])
def test_words_desk_and_commands_take_types_at_most(room: str) -> None:
    files = sorted((ROOT / "panel" / room).glob("*.py"))
    found = {file.name: more_than_types(file.read_text(encoding="utf-8")) for file in files}
    assert {name: taken for name, taken in found.items() if taken} == {}


def test_a_trial_fit_is_found() -> None:
    taken = more_than_types(
        "from typing import TYPE_CHECKING\n"
        "from analysis.vatting import Limits, try_shares\n"
        "if TYPE_CHECKING:\n    from analysis.profile import estimate_profile\n"
        "def ask():\n    from analysis.strength import vat\n    import analysis.profile\n"
    )
    assert taken == ["analysis.vatting.try_shares", "analysis.strength.vat", "analysis.profile"]


# ------------------------------------------------------------------ one way to write


def writes(source: str) -> int:
    """Count the places that open a write transaction."""
    calls = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call))
    return sum(
        isinstance(call.func, ast.Attribute)
        and call.func.attr == "write"
        and not (call.args or call.keywords)
        for call in calls
    )


@pytest.mark.parametrize(("room", "helper"), [("desk", "acting.py"), ("cli", "invocation.py")])
def test_desk_and_commands_write_through_one_helper_each(room: str, helper: str) -> None:
    files = sorted((ROOT / "panel" / room).glob("*.py"))
    found = {file.name: writes(file.read_text(encoding="utf-8")) for file in files}
    assert {name: count for name, count in found.items() if count} == {helper: 1}


def test_a_trial_write_is_found() -> None:
    assert writes("with store.write() as db:\n    file.write('text')\n") == 1
