"""From which loss on a pair of gauges points to a leak here: by size of cask and by store."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.frames.contents import dry_stores, is_dry
from panel.store.house import number_setting

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.strength import RegaugeLimits
    from panel.store.filling_states import FillingState


@dataclass(frozen=True)
class LossRules:
    """What the house counts as ordinary, for a cask of 250 L; percents a year of pure alcohol."""

    cool_percent: float
    dry_percent: float
    first_soak_percent: float
    gain_percent: float
    more_percent: float
    dry_stores: frozenset[str]

    def limits(self, state: FillingState) -> RegaugeLimits:
        """Return the limits of one cask where it lies now."""
        from analysis.strength import RegaugeLimits

        dry = is_dry(state, self.dry_stores)
        return RegaugeLimits(
            gain_percent=self.gain_percent,
            leak_percent_a_year=self.dry_percent if dry else self.cool_percent,
            more_percent_a_year=self.more_percent,
            in_drink_percent=self.first_soak_percent,
            cool_climate=not dry,
        ).for_cask(state.size_l)


def loss_rules(db: Session) -> LossRules:
    """Return what the house has settled."""
    return LossRules(
        cool_percent=number_setting(db, "leak_percent_a_year"),
        dry_percent=number_setting(db, "leak_percent_dry_store"),
        first_soak_percent=number_setting(db, "first_soak_percent"),
        gain_percent=number_setting(db, "gauge_gain_percent"),
        more_percent=number_setting(db, "leak_more_percent_a_year"),
        dry_stores=dry_stores(db),
    )
