"""Why a plan says what it says: walks from any line or fact down to answers and sources."""

from assistant.explain.asked import explanation_keys

__all__ = ["explanation_keys"]
