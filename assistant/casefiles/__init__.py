"""Files that people own: cases, decisions, wishes and a house's settings, read strictly; locks."""

from assistant.casefiles.answers import check_answers
from assistant.casefiles.cases import read_case

__all__ = ["check_answers", "read_case"]
