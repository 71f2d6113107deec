"""Words that no text of the book says: claims that belong to licensed people, and words that shame or praise."""

import re

# The house list.
BANNED = re.compile(
    r"\b(treat(s|ed|ment)?|cures?|cured|therapy|detox|diagnosis of|prescribed)\b", re.IGNORECASE
)
SHAMING = re.compile(
    r"\b(fat person|obese|overweight|skinny|lazy|guilt|cheat|clean eating|burn off|sin|bad food"
    r"|well done|congratulations|great job|good job|you passed|failed)\b",
    re.IGNORECASE,
)
