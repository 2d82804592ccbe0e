"""who is in training, and sessions at other sites.

Nobody was in training before: every score counts as it did. No session was away.
"""

from panel.store.migrations.booth_rules_0010 import booths_behind_views
from panel.store.migrations.sites_0010 import site_packs
from panel.store.migrations.training_0010 import people_in_training

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    people_in_training()
    site_packs()
    booths_behind_views()


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
