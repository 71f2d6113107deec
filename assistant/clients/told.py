"""What one version of a client's plan says otherwise than another, in words."""

from assistant.clients.edits import edits_in
from assistant.clients.week import kept_in
from assistant.explain.versions import changes, week_changes
from assistant.model.version import Version
from assistant.plan.sentences import Narrator
from assistant.programme.by_hand import edit_words


def changed(one: Version, other: Version, narrator: Narrator) -> list[str]:
    """Return what differs from one version to the other: figures, lines of the week, changes by hand."""
    found = [
        *changes(one.digest, other.digest, narrator),
        *week_changes(kept_in(one), kept_in(other), narrator),
    ]
    return [*(each.words for each in found), *_by_hand(one, other, narrator)]


def _by_hand(one: Version, other: Version, narrator: Narrator) -> list[str]:
    """Return the changes by hand that one of two versions holds and the other does not."""
    kb = narrator.kb
    held, holds = edits_in(one, kb), edits_in(other, kb)
    known = kb.exercises.by_id
    return [
        *(f"by hand: {edit_words(edit, known)}" for edit in holds if edit not in held),
        *(f"withdrawn: {edit_words(edit, known)}" for edit in held if edit not in holds),
    ]
