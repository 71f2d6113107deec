"""After a yes to the question about self-harm a command steps aside: support is shown, nothing written."""

from assistant.knowledge.first_steps import crisis_page
from assistant.model.case import Case
from assistant.model.documents.flags import Voice
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS


def steps_aside(
    case: Case, kb: KnowledgeBase, where: str = "to a file", voice: Voice = "coach"
) -> bool:
    """Print the page for a yes to the question about self-harm, and tell whether it was one."""
    if not any(case.answers.get(fact) is True for fact in SESSION_ONLY_FACTS):
        return False
    closings = [q.closing for q in kb.questions if q.fact in SESSION_ONLY_FACTS and q.closing]
    print("\n".join(crisis_page(kb, voice) or closings))
    print(f"There is no plan today, and nothing was written {where}.")
    return True
