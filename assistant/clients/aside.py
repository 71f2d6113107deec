"""What stands in place of everything else after a yes to the question about self-harm."""

from assistant.knowledge.first_steps import crisis_page
from assistant.model.documents.flags import Voice
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS


def aside_words(kb: KnowledgeBase, voice: Voice) -> tuple[str, ...]:
    """Return what is said then, thanks first."""
    closings = (q.closing for q in kb.questions if q.fact in SESSION_ONLY_FACTS and q.closing)
    return crisis_page(kb, voice) or tuple(closings)
