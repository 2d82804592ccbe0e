"""Oakpanel under its one name: nothing of others is touched, and nothing of others is taken."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from analysis.profile import parallel

ROOT = Path(__file__).parent.parent
OWN = ("panel", "analysis", "demo_panel")
LEFT_ALONE = f"""
import sys
before = list(sys.path)
import oakpanel
from oakpanel.analysis.strength import abv_from_density
assert sys.path == before
assert not set(sys.modules) & {set(OWN)!r}
assert oakpanel.analysis.strength.abv_from_density is abv_from_density
"""
ANOTHER_IS_LOADED = """
import sys, types
sys.modules["panel"] = types.ModuleType("panel")
from oakpanel.command import run
run()
"""
OFFERS = """
import sys
import oakpanel as oak
assert not {"numpy", "pandas", "scipy"} & set(sys.modules)
assert dir(oak) == sorted(oak.__all__)
assert all(getattr(oak, name) is not None for name in oak.__all__)
assert oak.match is oak.analysis.notebook.match
assert set(oak.analysis.notebook.__all__) <= set(oak.__all__)
try:
    oak.plan_vating
except AttributeError as error:
    print(error)
"""
TELLS_ITS_VERSION = """
import sys
from oakpanel.command import run
sys.argv = ["oakpanel", "--version"]
run()
"""


def python(code: str, folder: Path = ROOT) -> subprocess.CompletedProcess[str]:
    words = [sys.executable, "-c", code]
    return subprocess.run(words, cwd=folder, capture_output=True, text=True, check=False)


def test_importing_it_touches_no_path_and_no_name_of_others() -> None:
    assert python(LEFT_ALONE).stderr == ""


def test_it_offers_its_names_when_asked_and_refuses_others_with_the_nearest() -> None:
    said = python(OFFERS)
    assert said.stderr == ""
    assert said.stdout == "oakpanel has no 'plan_vating'. The nearest: plan_vatting.\n"


def test_the_command_refuses_to_start_beside_another_panel() -> None:
    said = python(ANOTHER_IS_LOADED)
    assert said.returncode == 1
    assert said.stderr.startswith("Something else that is called `panel` is loaded")
    assert len(said.stderr.splitlines()) == 1


def test_the_command_knows_its_own_halves() -> None:
    said = python(f"import panel, analysis\n{TELLS_ITS_VERSION}")
    assert (said.returncode, said.stderr) == (0, "")


def test_the_command_is_not_led_astray_by_a_folder_of_the_name(tmp_path: Path) -> None:
    for name in OWN:
        (tmp_path / name).mkdir()
        (tmp_path / name / "__init__.py").write_text("raise ImportError('not ours')\n")
    said = python(TELLS_ITS_VERSION, tmp_path)
    assert (said.returncode, said.stderr) == (0, "")


@pytest.mark.slow
@pytest.mark.parametrize("name", ["analysis", "pickle"])
def test_a_folder_where_one_works_does_not_kill_a_helper(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / name).mkdir()
    (tmp_path / name / "__init__.py").touch()
    monkeypatch.chdir(tmp_path)
    helper = parallel._helper()
    assert helper is not None
    helper.communicate()
    assert helper.returncode == 0


@pytest.mark.slow
def test_the_analysis_names_itself_nowhere() -> None:
    """It is `oakpanel.analysis` to whoever installed it: only relative imports find it there."""
    for path in sorted((ROOT / "analysis").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and not node.level:
                assert (node.module or "").split(".")[0] not in OWN, f"{path}, line {node.lineno}"
            if isinstance(node, ast.Import):
                named = {alias.name.split(".")[0] for alias in node.names}
                assert not named & set(OWN), f"{path}, line {node.lineno}"
