"""Beside another library called `panel`: neither overwrites, hides or breaks the other."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest

from tests.wheel.environments import Environment

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


@pytest.mark.slow
@pytest.mark.parametrize("order", ORDERS, ids="-".join)
def test_in_one_process_each_finds_its_own(
    installed: Environment, desk_of_a_user: Path, order: tuple[str, ...]
) -> None:
    assert installed.python(IN_ONE_PROCESS, *order, cwd=desk_of_a_user) == ""
