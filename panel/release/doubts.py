"""What is not clear of a disgorged release, and what was agreed to by name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from analysis.bar_words import sentence
from analysis.bars import Bar
from panel.figures import in_digits
from panel.kinds import Doubt
from panel.questions.agreed import AGREED, agreed_then, not_agreed
from panel.release.given import RINSE_L
from panel.release.holding import Agreed, agreed_by_name

if TYPE_CHECKING:
    from analysis.vatting import Limits
    from analysis.vatting.pour import Poured
    from panel.release.given import CaskGave
    from panel.release.outcome import VatMeasured

ODD_ABV = 0.3
"""A vat measured so far from what its casks come to points to a wrong figure, % vol."""
LOSS = 0.03
"""So much may stay in hoses and filters on the way to the vat; common practice, no source."""
VAT_SLACK = 0.01
"""By so much a vat's dip may be off; common practice, no source."""
GAUGE_SLACK = 0.02
"""By so much of it a cask may hold more than its gauge says; common practice, no source."""


@dataclass(frozen=True)
class Doubted:
    """A figure that is not clear: of what, and in words."""

    doubt: Doubt
    sentence: str
    casks: tuple[str, ...] = ()


def doubts(
    casks: Sequence[CaskGave], planned: Mapping[str, Any], poured: Poured, vat: VatMeasured
) -> Iterator[Doubted]:
    """Say every figure that is not clear: of casks, of the vat, of what the records hold now.

    Of a cask that was not planned nothing is held here: what nobody agreed to of it was refused.
    """
    agreed = agreed_then(planned)
    for gave in casks:
        yield from _of_cask(gave)
        if gave.lying is not None and gave.planned is not None and gave.given_litres > 0.0:
            for barred in not_agreed(gave.cask, gave.lying.bars, agreed):
                told = f"{sentence(gave.cask, barred)} That was agreed to by nobody."
                yield Doubted(Doubt.BARRED, told, (gave.cask,))
    yield from _of_vat(poured, vat)


def _of_vat(poured: Poured, vat: VatMeasured) -> Iterator[Doubted]:
    litres, abv = poured.bulk_litres, poured.abv_percent
    most = litres * (1.0 + VAT_SLACK) + RINSE_L
    least = litres * (1.0 - LOSS - VAT_SLACK) - RINSE_L
    if vat.litres_measured and not least <= vat.litres <= most:
        said = (
            f"The casks gave {in_digits(litres, ',.1f')} L together, the vat was measured at "
            f"{in_digits(vat.litres, ',.1f')}: one of the figures is wrong. Measure again."
        )
        yield Doubted(Doubt.VAT_LITRES, said)
    if vat.measured and abs(vat.abv_percent - abv) > ODD_ABV:
        said = (
            f"The casks' own figures come to {in_digits(abv, '.2f')} % vol, the vat was "
            "measured at "
            f"{in_digits(vat.abv_percent, '.2f')}: one of the figures is wrong. Measure again."
        )
        yield Doubted(Doubt.VAT_STRENGTH, said)


def still_agreed(
    planned: Mapping[str, Any], casks: Sequence[CaskGave], limits: Limits
) -> Iterator[Agreed]:
    """Return what was agreed to by name of the casks that gave.

    Of those that were planned that is what was agreed to when the release was proposed, of those
    that came in by hand what its limits name today.
    """
    gave = {each.cask: each for each in casks if each.given_litres > 0.0}
    then = [
        Agreed(str(each["cask"]), Bar(each["bar"]), str(each["sentence"]))
        for each in planned.get(AGREED, ())
        if each["cask"] in gave
    ]
    now = [
        agreed
        for cask, each in gave.items()
        if each.lying is not None and each.planned is None
        for agreed in agreed_by_name(cask, each.lying, limits)
    ]
    yield from {(each.cask, each.bar): each for each in (*then, *now)}.values()


def _of_cask(gave: CaskGave) -> Iterator[Doubted]:
    """Say what is not clear of one cask's litres."""
    cask, litres, held = gave.cask, gave.given_litres, gave.held_litres
    if litres > held * (1.0 + GAUGE_SLACK) + RINSE_L:
        said = (
            f"Cask {cask} gave {in_digits(litres, '.1f')} L and held "
            f"{in_digits(held, '.1f')} by its last gauge: one of the "
            "figures is wrong. Measure again."
        )
        yield Doubted(Doubt.CASK_LITRES, said, (cask,))
    if gave.asked:
        said = (
            f"Cask {cask} gave {in_digits(litres, '.1f')} L of {in_digits(held, '.1f')} and "
            "was planned whole: as nobody said "
            f"that it is empty, {in_digits(gave.rest_litres, '.1f')} L stay in it. Say "
            "which: it is empty "
            f"(--empty {cask}), or it keeps them (--keeps {cask})."
        )
        yield Doubted(Doubt.REST, said, (cask,))
    if gave.written_off:
        said = (
            f"Cask {cask} is said to be empty and gave {in_digits(litres, '.1f')} L of "
            f"{in_digits(held, '.1f')}: "
            f"{in_digits(held - litres, '.1f')} L are written off."
        )
        yield Doubted(Doubt.LOSS, said, (cask,))
