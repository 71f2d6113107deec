"""Clients, their append-only history, and the trail of what happened to the record."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "client",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("token", sa.String(32), nullable=False, unique=True),
        sa.Column("handle", sa.String(200), nullable=False, unique=True),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("added_on", sa.Date, nullable=False),
        sa.Column("lines", sa.Integer, nullable=False),
        sa.Column("head", sa.String(64), nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "history",
        sa.Column("client_id", sa.Integer, sa.ForeignKey("client.id"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("said_on", sa.Date, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("measure", sa.String(32), nullable=False),
        sa.Column("detail", sa.String(64), nullable=False),
        sa.Column("value", sa.Float),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )
    op.create_table(
        "trail",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("event", sa.String(16), nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("subject", sa.String(64), nullable=False),
        sa.Column("lines", sa.Integer, nullable=False),
        sa.Column("head", sa.String(64), nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )
