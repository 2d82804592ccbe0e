"""Every table of the house in one import, for migrations and for whole-database work.

Booth code imports the single modules instead: this one reaches the key.
"""

from panel.store import (
    answers,
    batches,
    bottle_remarks,
    casks,
    consents,
    deed_numbers,
    draws,
    house_setting,
    key,
    lexicon,
    list_edits,
    log,
    mixing_notes,
    own_words,
    passes,
    passing,
    people,
    planted,
    releases,
    review_ticks,
    rule_sets,
    sessions,
    site_packs,
    stock_plans,
    stops,
    targets,
    training,
    word_matches,
)
from panel.store.base import Base

METADATA = Base.metadata
MODULES = (
    *(casks, draws, house_setting, key, lexicon, log, own_words, people, sessions, targets),
    *(passes, mixing_notes, releases, rule_sets, list_edits, deed_numbers, stops, consents),
    *(batches, stock_plans, word_matches, review_ticks, bottle_remarks),
    *(passing, planted, answers, training),
    site_packs,
)
