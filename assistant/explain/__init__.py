"""Why a plan says what it says: walks from any line or fact down to answers and sources."""

from assistant.explain.asked import explanation_keys
from assistant.explain.why import Explanation, explain

__all__ = ["Explanation", "explain", "explanation_keys"]
