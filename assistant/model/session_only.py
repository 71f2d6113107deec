"""Answers that live in the session only."""

# The answer to the question about self-harm is never written to a file: no draft, case, log or batch
# holds it. After a yes the plan steps aside for the session (safety practice, our judgement).
SESSION_ONLY_FACTS = frozenset({"screen.self_harm_thoughts"})
