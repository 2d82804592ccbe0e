"""Every table of the house in one import, for migrations and for whole-database work.

Booth code imports the single modules instead: this one reaches the key.
"""

from panel.store import (
    booth_deeds,
    casks,
    consents,
    draws,
    house_setting,
    key,
    lexicon,
    list_edits,
    log,
    mixing_notes,
    own_words,
    passes,
    people,
    releases,
    rule_sets,
    sessions,
    stops,
    targets,
    word_matches,
)
from panel.store.base import Base

METADATA = Base.metadata
MODULES = (
    *(casks, draws, house_setting, key, lexicon, log, own_words, people, sessions, targets),
    *(passes, mixing_notes, releases, rule_sets, list_edits, booth_deeds, stops, consents),
    word_matches,
)
