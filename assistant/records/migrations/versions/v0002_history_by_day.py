"""An index by day: the look at all clients reads the last weeks only."""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the index."""
    op.create_index("history_by_day", "history", ["client_id", "kind", "day"])
