"""People who sign in, links of clients, and the trail of who looked at whose record."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "account",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("handle", sa.String(200), nullable=False, unique=True),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("client_id", sa.Integer, sa.ForeignKey("client.id")),
        sa.Column("password", sa.String(255), nullable=False),
        sa.Column("added_on", sa.Date, nullable=False),
    )
    op.create_table(
        "client_link",
        sa.Column("client_id", sa.Integer, sa.ForeignKey("client.id"), primary_key=True),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        sa.Column("made_on", sa.Date, nullable=False),
        sa.Column("made_by", sa.String(200), nullable=False),
        sa.Column("until", sa.Date, nullable=False),
    )
    op.create_table(
        "access",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("page", sa.String(200), nullable=False),
        sa.Column("subject", sa.String(64), nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )
    op.create_index("access_by_subject", "access", ["subject", "number"])
