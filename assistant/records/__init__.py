"""Clients' records over months: an append-only history in a database, and what is read from it."""
