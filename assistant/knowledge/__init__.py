"""The knowledge base on disk: strict reading, cross-checks, hashes."""

from assistant.knowledge.load import load_kept, load_knowledge
from assistant.knowledge.locate import rules_directory

__all__ = ["load_kept", "load_knowledge", "rules_directory"]
