"""After a yes to the question about self-harm a command steps aside: support is shown, nothing written."""

from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS


def steps_aside(case: Case, kb: KnowledgeBase, where: str = "to a file") -> bool:
    """Print the support text if the answer was yes, and tell whether it was."""
    if not any(case.answers.get(fact) is True for fact in SESSION_ONLY_FACTS):
        return False
    for question in kb.questions:
        if question.fact in SESSION_ONLY_FACTS and question.closing:
            print(question.closing)
    print(f"There is no plan today, and nothing was written {where}.")
    return True
