"""Kinds of lines of a client's history: a measure, answers, a kept plan, a word of the check-in."""

ENTRY, ANSWERS, PLAN, SAID = "entry", "answers", "plan", "said"
