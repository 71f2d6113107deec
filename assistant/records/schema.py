"""The tables as this version of the program knows them. Migrations bring a database here."""

from sqlalchemy import (
    Column,
    Date,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

# The last migration. A test compares it with the scripts in `migrations/versions`.
VERSION = "0003"

METADATA = MetaData()

# lines, head: number and hash of the last line of the history, so that a cut tail shows.
# token: random; it goes into the hashes and is destroyed when the client is forgotten.
CLIENT = Table(
    "client",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("token", String(32), nullable=False, unique=True),
    Column("handle", String(200), nullable=False, unique=True),
    Column("name", String(200), nullable=False),
    Column("added_on", Date, nullable=False),
    Column("lines", Integer, nullable=False),
    Column("head", String(64), nullable=False),
    sqlite_autoincrement=True,
)

# Only ever inserted into; a client who is forgotten is the one exception.
# said_on: the day somebody told us; day: the day it is about.
HISTORY = Table(
    "history",
    METADATA,
    Column("client_id", Integer, ForeignKey("client.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(16), nullable=False),
    Column("said_on", Date, nullable=False),
    Column("day", Date, nullable=False),
    Column("measure", String(32), nullable=False),
    Column("detail", String(64), nullable=False),
    Column("value", Float),
    Column("body", Text, nullable=False),
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
    Index("history_by_day", "client_id", "kind", "day"),
)

# What happened to the record as a whole. It holds hashes and counts, never a name or an answer.
TRAIL = Table(
    "trail",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("event", String(16), nullable=False),
    Column("day", Date, nullable=False),
    Column("subject", String(64), nullable=False),
    Column("lines", Integer, nullable=False),
    Column("head", String(64), nullable=False),
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
)

# Who signs in to a team's record. password: an Argon2id hash with its own salt and cost.
ACCOUNT = Table(
    "account",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("handle", String(200), nullable=False, unique=True),
    Column("name", String(200), nullable=False),
    Column("role", String(16), nullable=False),
    Column("client_id", Integer, ForeignKey("client.id")),
    Column("password", String(255), nullable=False),
    Column("added_on", Date, nullable=False),
)

# One link a client. hash: of a random key that is shown once; a key that long needs no salt.
CLIENT_LINK = Table(
    "client_link",
    METADATA,
    Column("client_id", Integer, ForeignKey("client.id"), primary_key=True),
    Column("hash", String(64), nullable=False, unique=True),
    Column("made_on", Date, nullable=False),
    Column("made_by", String(200), nullable=False),
    Column("until", Date, nullable=False),
)

# Only ever inserted into. at: when, in UTC. subject: hash of the client's token, empty for all clients.
ACCESS = Table(
    "access",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("at", String(32), nullable=False),
    Column("who", String(200), nullable=False),
    Column("role", String(16), nullable=False),
    Column("page", String(200), nullable=False),
    Column("subject", String(64), nullable=False),
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
    Index("access_by_subject", "subject", "number"),
)
