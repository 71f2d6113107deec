"""The knowledge base on disk: strict reading, cross-checks, hashes, and cases."""

from assistant.knowledge.answers import check_answers
from assistant.knowledge.cases import read_case
from assistant.knowledge.load import load_knowledge
from assistant.knowledge.locate import rules_directory

__all__ = ["check_answers", "load_knowledge", "read_case", "rules_directory"]
