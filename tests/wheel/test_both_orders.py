"""Installed beside the other library in either order: one goes, and the other stays as it was."""

from __future__ import annotations

import json
from itertools import takewhile
from pathlib import Path

import pytest

from tests.wheel.environments import ROOT, Environment, make_environment

pytestmark = pytest.mark.wheel
FILES = ("scores", "targets", "stock", "drawn", "mixing")
KEEPS_THE_ANSWERS = """
import json
ranked = oak.match(profile, target, stock, drawn, top=8)
with open("answers.json", "w") as file:
    json.dump([ranked.to_dict()["casks"], plan.to_dict()["parts"]], file)
"""
WHERE_PANEL_LIES = "from importlib.util import find_spec; print(find_spec('panel').origin)"


@pytest.mark.slow
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
    if ours_first:
        ask_as_the_readme_does(both, desk_of_a_user)
        return
    both.pip("install", "--no-deps", str(other))
    both.pip("uninstall", "-y", "oakpanel")
    assert both.damage("panel") == []
    assert not (both.packages / "oakpanel").exists()
    found = both.python(WHERE_PANEL_LIES, cwd=desk_of_a_user)
    assert Path(found.strip()).is_relative_to(both.packages)


def ask_as_the_readme_does(both: Environment, work: Path) -> None:
    """Go from saved files to a vatting in the README's lines; the command ranks casks the same.

    Which vatting is found hangs on the time there was for it as well.
    """
    house = ("--db", "sallow-weir/panel.sqlite")
    for kind in FILES:
        both.oakpanel(*house, "save", kind, f"{kind}.csv", cwd=work)
    code = readme_example()
    assert len(code.splitlines()) <= 10
    both.python(code + KEEPS_THE_ANSWERS, cwd=work)
    ranked, parts = json.loads((work / "answers.json").read_text(encoding="utf-8"))
    asked = ("match", "Lantern", "--top", "8", "--json")
    known = json.loads(both.oakpanel(*house, *asked, cwd=work))["casks"]
    assert [one["cask"] for one in ranked] == [one["cask"] for one in known]
    chances = [one["probability"] for one in known]
    assert [one["probability"] for one in ranked] == pytest.approx(chances, abs=1e-9)
    assert 2 <= len(parts) <= 12
    assert min(part["age_years"] for part in parts) >= 8.0


def readme_example() -> str:
    """Give the lines of the README that begin where a notebook does."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    lines = text[text.index("    import oakpanel as oak\n") :].splitlines()
    code = takewhile(lambda line: not line or line.startswith("    "), lines)
    return "".join(f"{line.removeprefix('    ')}\n" for line in code if line)
