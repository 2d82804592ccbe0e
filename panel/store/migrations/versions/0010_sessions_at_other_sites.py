"""sessions at other sites: packs that were sent or came, their seats, and the spirit with them."""

from panel.store.migrations.sites_0010 import site_packs

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    site_packs()


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
