"""booths' users of a server read by views of their own; a try of a PIN is kept before it is judged.

Tries that were kept and not yet told are refused: whoever sent them signs in once more.
"""

from panel.store.migrations.booth_rules_0010 import booths_behind_views

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    booths_behind_views()


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
