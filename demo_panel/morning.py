"""Sessions of the other kinds: what everybody will answer at glasses that are no profile.

- "reed-barrels": is each of 22 barrels of a parcel sound? One of them is not; both noses that pass
  it catch most of what is planted.
- "hearth-pairs": which of two casks has more smoke? One has a little more.
- "reference-fours": is batch 2 of the reference another spirit than batch 1?
- "custard-odd": are two casks of different wood told apart where nobody says by what?
- "reference-like": the same of both batches of the reference, the first one always marked.
- "custard-order": four casks of different wood, ranked by one note.
- "smoke-minute": does the smoke of a young and of an old peated cask burst or linger?
- "smoke-stages": the same two tasted, some notes once and the smoke at each stage of a glass.
- "own-names": six casks of different wood and peat, each nose in words of its own.

Of threes stands here how far along the line between the two products each glass was felt to be, for
which of them stand in a set, only its key tells.

`oakpanel demo` holds them; which glass is which, only the key of each tells it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.random import RandomState
from numpy.typing import NDArray

from demo_panel.evenings import REFERENCES, Cellar, Sample, reference
from demo_panel.noses import NOSES, SMELL_MUST, Nose, smelt
from demo_panel.stock import LAST_DAY, Filling

PARCEL = "Reed barrels 18-22"
SULPHURY = "SW2004"
"""A barrel of the parcel that smells of a struck match; nobody has nosed it before."""
KNOWN_SOUND = "SW1803"
PAIR = ("SW1505", "SW1510")
RANKED = ("SW1802", "SW1804", "SW1806", "SW1904")
PASSING, PAIRS, FOURS, RANKING = "reed-barrels", "hearth-pairs", "reference-fours", "custard-order"
TRACES, STAGES, OWN = "smoke-minute", "smoke-stages", "own-names"
STAGED = "hearth smoke"
TASTED = ("custard skin", "plum stone", "orchard skin", "burnt sugar edge")
AT_STAGES = ("nose", "arrival", "development", "finish")
OWN_NAMES = {
    "hearth smoke": ("cold grate", "ash bucket", "burnt twigs"),
    "custard skin": ("vanilla pudding", "warm milk", "cake filling"),
    "plum stone": ("prunes", "sloe jam", "dark fruit"),
    "orchard skin": ("apple peel", "pear drops", "green fruit"),
    "warm flour": ("crust", "mill dust", "dry biscuit"),
}
"""What noses of this house call a note where nobody gives them a word for it."""
ODD, LIKE = "custard-odd", "reference-like"
ODD_OF = ("SW1802", "SW1806")
TRACED = ("SW2204", "SW0802")
ASKED_AT_S = (0, 5, 10, 20, 30, 45, 60)
POINTS_A_KEY = 100 / 9
KINDS = {
    PASSING: "passing",
    PAIRS: "stronger of two",
    FOURS: "two and two",
    RANKING: "ranking",
    TRACES: "trace",
    ODD: "odd one out",
    LIKE: "like the first",
    STAGES: "stages",
    OWN: "own words",
}
PASSERS = ("Rowan", "Hazel")
SPIKES = ("sulphur", "mould or cork", "solvent")
SETS = {PAIRS: 3, FOURS: 3, RANKING: 1, ODD: 1, LIKE: 1}
COPIES = 12
"""How often a planted glass may stand on a tray at the most."""
CATCH_STRONG, CATCH, FALSELY = 0.97, 0.85, 0.03

Row = tuple[object, ...]


@dataclass(frozen=True)
class Mornings:
    """The samples drawn for them."""

    parcel: tuple[Sample, ...]
    sound: Sample
    pair: tuple[Sample, Sample]
    ranked: tuple[Sample, ...]
    traced: tuple[Sample, ...]


def in_parcel(one: Filling) -> bool:
    """Say whether a filling is one of the parcel."""
    return one.make == "Reed 18-22" and one.wood.name == "American oak barrel" and not one.owner


def draw_for_mornings(cellar: Cellar) -> Mornings:
    """Draw from the parcel and from the casks that are compared, on the last day."""
    return Mornings(
        tuple(cellar.draw(one, LAST_DAY) for one in cellar.by_cask.values() if in_parcel(one)),
        cellar.draw(cellar.by_cask[KNOWN_SOUND], LAST_DAY),
        (_drawn(cellar, PAIR[0]), _drawn(cellar, PAIR[1])),
        tuple(_drawn(cellar, cask) for cask in RANKED),
        tuple(_drawn(cellar, cask) for cask in TRACED),
    )


def _drawn(cellar: Cellar, cask: str) -> Sample:
    return cellar.draw(cellar.by_cask[cask], LAST_DAY)


def volumes(found: Mornings) -> dict[str, int]:
    """Return the millilitres drawn of each sample: as many glasses as are poured of it."""
    return {
        **dict.fromkeys((one.label for one in found.parcel), 90),
        **dict.fromkeys((one.label for one in (*found.ranked, *found.traced)), 500),
        **dict.fromkeys((one.label for one in found.pair), 700),
        found.sound.label: 2000,
    }


def answers(found: Mornings, rng: RandomState) -> tuple[tuple[str, ...], list[Row]]:
    """Return what will be answered, one row a glass."""
    headings = ("session", "kind", "assessor", "number", "sample", "copy", "says")
    said = (
        *(*_passed(found, rng), *_pairs(found, rng), *_fours(rng), *_ranked(found, rng)),
        *(*_traced(found, rng), *_odd(found, rng), *_like(rng)),
        *(*_staged(found, rng), *_named(found, rng)),
    )
    return headings, [(name, KINDS[str(name)], *row) for name, *row in said]


def _passed(found: Mornings, rng: RandomState) -> Iterator[Row]:
    """Every cask twice, as one in ten is; what is planted as often as chance may want it."""
    planted = [(f"spike {fault}", fault) for fault in SPIKES]
    for code in PASSERS:
        for sample in found.parcel:
            bad = sample.filling is not None and sample.filling.cask == SULPHURY
            for copy in (1, 2):
                says = "sulphur" if rng.rand() < (CATCH_STRONG if bad else FALSELY) else ""
                yield (PASSING, code, "", sample.label, copy, says)
        for copy in range(1, COPIES + 1):
            says = "sulphur" if rng.rand() < FALSELY else ""
            yield (PASSING, code, "", found.sound.label, copy, says)
        for label, fault in planted:
            for copy in range(1, COPIES + 1):
                there = fault != "mould or cork" or code in SMELL_MUST
                says = fault if there and rng.rand() < CATCH else ""
                yield (PASSING, code, "", label, copy, says)


def _perceived(nose: Nose, note: str, truth: Mapping[str, float], rng: RandomState) -> float:
    return nose.scale * smelt(nose, note, truth[note]) + float(rng.normal(0.0, nose.scatter))


def _pairs(found: Mornings, rng: RandomState) -> Iterator[Row]:
    for nose in NOSES:
        for number in range(1, SETS[PAIRS] + 1):
            smoke = [_perceived(nose, "hearth smoke", one.truth, rng) for one in found.pair]
            for sample, mine in zip(found.pair, smoke, strict=True):
                place = 1 if mine == max(smoke) else 2
                yield (PAIRS, nose.code, number, sample.label, 1, place)


def _fours(rng: RandomState) -> Iterator[Row]:
    """Sort by all notes at once: those two go together that lie nearest."""
    batches = [reference(label) for label in sorted(REFERENCES)]
    glasses = [(batch, copy) for batch in batches for copy in (1, 2)]
    for nose in NOSES:
        for number in range(1, SETS[FOURS] + 1):
            seen = [
                np.array([_perceived(nose, note, batch.truth, rng) for note in sorted(batch.truth)])
                for batch, _ in glasses
            ]
            together = _nearest(seen)
            for place, (batch, copy) in enumerate(glasses):
                says = 1 if place in together else 2
                yield (FOURS, nose.code, number, batch.label, copy, says)


def _nearest(seen: list[NDArray[np.float64]]) -> frozenset[int]:
    """Return which two of four stand together, so that both twos lie as near as can be."""
    every = frozenset(range(4))

    def apart(two: Iterable[int]) -> float:
        twos = sorted(two), sorted(every.difference(two))
        return sum(float(np.linalg.norm(seen[a] - seen[b])) for a, b in twos)

    return min(map(frozenset, combinations(range(4), 2)), key=apart)


def _odd(found: Mornings, rng: RandomState) -> Iterator[Row]:
    two = [one for one in found.ranked if one.filling and one.filling.cask in ODD_OF]
    yield from _along(ODD, {one.label: one.truth for one in two}, rng)


def _like(rng: RandomState) -> Iterator[Row]:
    batches = [reference(label) for label in sorted(REFERENCES)]
    yield from _along(LIKE, {one.label: one.truth for one in batches}, rng)


def _along(name: str, truths: Mapping[str, Mapping[str, float]], rng: RandomState) -> Iterator[Row]:
    """Give where each glass is felt on the line from the one product to the other, in points."""
    one, other = truths.values()
    notes = sorted(one)
    line = np.array([other[note] - one[note] for note in notes])
    line /= np.linalg.norm(line)
    for nose in NOSES:
        for number in range(1, SETS[name] + 1):
            for label, truth in truths.items():
                for copy in (1, 2):
                    felt = np.array([_perceived(nose, note, truth, rng) for note in notes])
                    yield (name, nose.code, number, label, copy, f"{float(felt @ line):.1f}")


def _ranked(found: Mornings, rng: RandomState) -> Iterator[Row]:
    for nose in NOSES:
        custard = [_perceived(nose, "custard skin", one.truth, rng) for one in found.ranked]
        order = sorted(range(len(custard)), key=lambda place: -custard[place])
        for place, sample in enumerate(found.ranked):
            yield (RANKING, nose.code, 1, sample.label, 1, order.index(place) + 1)


def _traced(found: Mornings, rng: RandomState) -> Iterator[Row]:
    """Trace the smoke by keys from 0 to 9: of an old cask less bursts and more stays."""
    for nose in NOSES:
        for sample in found.traced:
            smoke, years = sample.truth["hearth smoke"], _years(sample)
            stays = min(0.8, 0.25 + 0.03 * years) * float(np.exp(rng.normal(0.0, 0.15)))
            late = max(0.0, float(rng.normal(1.5, 1.0)))
            for second in ASKED_AT_S:
                since = max(0.0, second - late)
                burst = (1 - stays) * since / 6 * float(np.exp(1 - since / 6))
                linger = stays * 1.6 * float((1 - np.exp(-since / 12)) * np.exp(-since / 70))
                felt = nose.scale * 1.5 * smoke * (burst + linger) + float(rng.normal(0.0, 4.0))
                key = min(9, max(0, round(felt / POINTS_A_KEY)))
                yield (TRACES, nose.code, second, sample.label, 1, key)


def _staged(found: Mornings, rng: RandomState) -> Iterator[Row]:
    """Score some notes once and the smoke at each stage: an old cask's stays for the finish.

    Both batches of the house reference stand among them and tie them to the evenings.
    """
    for nose in NOSES:
        for sample in (*found.traced, *map(reference, sorted(REFERENCES))):
            stays = min(0.8, 0.25 + 0.03 * _years(sample))
            shares = (0.9, 1.4 * (1 - stays) + 0.3, 1.0, 1.4 * stays + 0.2)
            felt = {note: _perceived(nose, note, sample.truth, rng) for note in TASTED}
            for stage, share in zip(AT_STAGES, shares, strict=True):
                smoke = share * sample.truth[STAGED] * nose.scale + float(rng.normal(0, 4.0))
                felt[f"{STAGED}, {stage}"] = smoke
            yield (STAGES, nose.code, "", sample.label, 1, _sheet(felt))


def _named(found: Mornings, rng: RandomState) -> Iterator[Row]:
    for nose in NOSES:
        words = {note: names[int(rng.randint(len(names)))] for note, names in OWN_NAMES.items()}
        for sample in (*found.ranked, *found.traced):
            felt = {words[n]: _perceived(nose, n, sample.truth, rng) for n in OWN_NAMES}
            yield (OWN, nose.code, "", sample.label, 1, _sheet(felt))


def _sheet(felt: Mapping[str, float]) -> str:
    """Write the lines of one glass as they stand on a ballot."""
    return "; ".join(f"{name}={min(100, max(0, round(mine)))}" for name, mine in felt.items())


def _years(sample: Sample) -> float:
    return 0.0 if sample.filling is None else sample.filling.age_years(sample.drawn_on)
