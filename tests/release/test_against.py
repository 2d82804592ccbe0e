"""What may be signed goes by keys; what was kept in words only counts as it always did."""

from __future__ import annotations

import json
from typing import Any

import pytest

from panel.release.against import Against, against_signing
from panel.store.engine import Store
from panel.store.releases import Release
from tests.cli.calling import Call
from tests.release.signing import UNNOSED

WELL: dict[str, Any] = {"water_litres": 10.0, "broken_limits": [], "broken_rules": []}
SHARE = {"limit": "share", "which": 0, "casks": [], "sentence": "Out of bounds."}
STRENGTH = {"rule": "minimum strength", "sentence": "Too weak by law."}


def test_nothing_stands_against_a_release_that_keeps_everything() -> None:
    assert against_signing(WELL) == []


def test_keys_decide_whatever_the_sentences_say() -> None:
    found = {**WELL, "broken_limits": [SHARE], "broken_rules": [STRENGTH], "broken": ["All well."]}
    assert [each.key for each in against_signing(found)] == ["share", "minimum strength"]
    in_words = {**WELL, "broken": ["It is parts of casks."], "checks": ["Short of 600 bottles."]}
    assert against_signing(in_words) == []


def test_words_kept_without_keys_stand_against_it_each() -> None:
    old = {"water_litres": 10.0, "broken": ["One.", "Two."], "checks": ["Three."]}
    assert against_signing(old) == [
        Against(None, "One."),
        Against(None, "Two."),
        Against(None, "Three."),
    ]


@pytest.mark.parametrize("found", [{**WELL, "water_litres": None}, {"broken": [], "checks": []}])
def test_a_vat_that_takes_no_water_is_too_weak(found: dict[str, Any]) -> None:
    (each,) = against_signing(found)
    assert each.key == "strength"


def _disgorged(oakpanel: Call, *, short_by: float) -> None:
    said = oakpanel(
        *("release", "propose", "Spring", "--target", "Fen", "--bottles", "480"),
        *("--casks", "2-5", "--old-gauges", "flag", "--json"),
    )
    parts = {part["cask"]: part["litres"] - short_by for part in said.document["parts"]}
    given = [w for cask, litres in parts.items() for w in ("--cask", f"{cask}={litres}@59.0")]
    assert oakpanel("release", "disgorge", "Spring", *given).code == 0


def _rewritten(house: Store, without: tuple[str, ...]) -> None:
    with house.write() as db:
        release = db.query(Release).one()
        found = json.loads(release.found_json or "{}")
        assert {"broken", "checks", "broken_limits", "broken_rules"} <= found.keys()
        for name in without:
            found.pop(name)
        release.found_json = json.dumps(found)


@pytest.mark.slow
@pytest.mark.usefixtures("gauged")
def test_what_was_disgorged_is_kept_by_key(oakpanel: Call) -> None:
    _disgorged(oakpanel, short_by=15.0)
    found = oakpanel("release", "show", "Spring", "--json").document["found"]
    assert [each["limit"] for each in found["broken_limits"]] == ["quantity"]
    assert [each["sentence"] for each in found["broken_limits"]] == found["broken"]
    assert [each["sentence"] for each in found["broken_rules"]] == found["checks"] == []


@pytest.mark.slow
@pytest.mark.usefixtures("gauged")
def test_a_release_kept_before_there_were_keys_is_refused_as_before(
    oakpanel: Call, house: Store
) -> None:
    _disgorged(oakpanel, short_by=15.0)
    _rewritten(house, ("broken_limits", "broken_rules"))
    refused = oakpanel("--by", "LD", "release", "sign", "Spring")
    assert refused.code == 1
    assert "fewer than the 480 asked for" in refused.err
    assert oakpanel("--by", "LD", "release", "sign", "Spring", "--despite", "agreed").code == 0


@pytest.mark.slow
def test_one_that_kept_everything_is_signed_with_keys_and_without(
    oakpanel: Call, house: Store
) -> None:
    _disgorged(oakpanel, short_by=0.0)
    _rewritten(house, ("broken_limits", "broken_rules"))
    assert oakpanel("--by", "LD", "release", "sign", "Spring", *UNNOSED).code == 0
