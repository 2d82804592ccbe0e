"""who is in training, and from which day on they are one of the panel.

Nobody was in training before: every score counts as it did.
"""

from panel.store.migrations.training_0010 import people_in_training

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    people_in_training()


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
