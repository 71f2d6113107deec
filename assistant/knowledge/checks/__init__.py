"""Cross-checks: everything in a knowledge base that names something else must fit it."""

from collections.abc import Mapping
from typing import Any

from assistant.knowledge.checks.declarations import check_declarations
from assistant.knowledge.checks.documents import check_documents
from assistant.knowledge.checks.examples import check_examples
from assistant.knowledge.checks.exclusive import check_exclusive
from assistant.knowledge.checks.flags import check_flags
from assistant.knowledge.checks.grading import check_grading
from assistant.knowledge.checks.house import check_house
from assistant.knowledge.checks.how_to import check_how_to
from assistant.knowledge.checks.order import check_order
from assistant.knowledge.checks.patterns import check_patterns
from assistant.knowledge.checks.poses import check_poses
from assistant.knowledge.checks.prose import check_prose
from assistant.knowledge.checks.questions import check_questions
from assistant.knowledge.checks.rules import check_rules
from assistant.knowledge.checks.tick_lists import check_tick_lists
from assistant.knowledge.checks.typed_words import check_typed_words
from assistant.knowledge.draft import Draft
from assistant.model.errors import Problem


def cross_check(
    draft: Draft, calculators: Mapping[str, Any] | None, *, is_whole: bool
) -> list[Problem]:
    """Return everything that does not fit together.

    is_whole: False if some rules could not be read, so that their absence proves nothing.
    """
    problems = [
        *check_declarations(draft),
        *check_rules(draft, calculators),
        *check_flags(draft),
        *check_grading(draft, calculators),
        *check_prose(draft),
        *check_examples(draft),
        *check_questions(draft),
        *check_tick_lists(draft),
        *check_typed_words(draft),
        *check_documents(draft),
        *check_patterns(draft, is_whole=is_whole),
        *check_how_to(draft, is_whole=is_whole),
        *check_poses(draft),
        *check_order(draft, is_whole=is_whole),
        *(check_house(draft) if draft.house else ()),
    ]
    # Exclusiveness is reasoned from sound clauses only; on broken ones it would repeat complaints.
    return problems or check_exclusive(draft)
