"""Frozen shapes shared by every room. No behaviour beyond validation."""
