"""What the house has settled for judging a panel and its people: records to settings."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.agreement import AgreementSettings


def agreement_settings(db: Session) -> AgreementSettings:
    """Return what the house has settled for judging a panel."""
    from analysis.agreement import AgreementSettings
    from panel.store.house import number_setting
    from panel.store.lexicon import fault_notes

    return AgreementSettings(
        tolerance=number_setting(db, "alike_tolerance"),
        ought_to_be_absent=frozenset(fault_notes(db)),
    )
