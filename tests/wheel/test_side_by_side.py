"""Beside another library called `panel`: neither overwrites, hides or breaks the other."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest

from tests.wheel.environments import Environment, make_environment

pytestmark = pytest.mark.wheel
ORDERS = list(permutations(("analysis", "panel", "oakpanel")))
IN_ONE_PROCESS = """
import sys
from importlib import import_module
path = list(sys.path)
loaded = {name: import_module(name) for name in sys.argv[1:]}
assert loaded["analysis"].NAME == "a user's own"
assert "oakpanel" not in loaded["panel"].__file__
assert sys.path == path
parallel = import_module("oakpanel.analysis.profile.parallel")
helper = parallel._helper()
helper.communicate()
assert helper.returncode == 0
assert sys.modules["analysis"] is loaded["analysis"]
assert sys.modules["panel"] is loaded["panel"]
assert not hasattr(loaded["analysis"], "profile")
"""
WHERE_PANEL_LIES = "from importlib.util import find_spec; print(find_spec('panel').origin)"


@pytest.fixture
def desk_of_a_user(tmp_path: Path) -> Path:
    """Give a folder where somebody works who has an `analysis` of their own."""
    folder = tmp_path / "work"
    (folder / "analysis").mkdir(parents=True)
    (folder / "analysis" / "__init__.py").write_text('NAME = "a user\'s own"\n', encoding="utf-8")
    return folder


@pytest.mark.parametrize("order", ORDERS, ids="-".join)
def test_in_one_process_each_finds_its_own(
    installed: Environment, desk_of_a_user: Path, order: tuple[str, ...]
) -> None:
    assert installed.python(IN_ONE_PROCESS, *order, cwd=desk_of_a_user) == ""


@pytest.mark.parametrize("ours_first", [True, False], ids=["ours first", "ours second"])
def test_installed_in_either_order_one_goes_and_the_other_stays(
    wheel: Path, other: Path, dependencies: Path, desk_of_a_user: Path, ours_first: bool
) -> None:
    both = make_environment(desk_of_a_user.parent / "venv", dependencies)
    for one in (wheel, other) if ours_first else (other, wheel):
        both.pip("install", "--no-deps", str(one))
    assert both.damage("oakpanel") == both.damage("panel") == []
    assert both.oakpanel("--version", cwd=desk_of_a_user).startswith("oakpanel, version ")
    both.pip("uninstall", "-y", "panel")
    assert both.damage("oakpanel") == []
    said = both.oakpanel("demo", "--at", "sallow-weir", cwd=desk_of_a_user)
    assert "Lantern" in said
    both.pip("install", "--no-deps", str(other))
    both.pip("uninstall", "-y", "oakpanel")
    assert both.damage("panel") == []
    assert not (both.packages / "oakpanel").exists()
    found = both.python(WHERE_PANEL_LIES, cwd=desk_of_a_user)
    assert Path(found.strip()).is_relative_to(both.packages)
