"""Where a client's plan stands, as lines under the title of a text."""

from assistant.model.away import AwayKind
from assistant.model.version import Cause, Place
from assistant.plan.phrases import wrapped

CAUSE_WORDS: dict[Cause, str] = {
    "added": "the first plan",
    "answers": "new answers",
    "measures": "new measures",
    "screen": "what was told changed what the screen says",
    "review": "a review was accepted",
    "edit": "the week was changed by hand",
    "override": "a line was changed by hand",
    "decision": "somebody decided about a warning",
    "away": "a time away was told",
    "earlier": "kept by an earlier program",
}
AWAY_WORDS: dict[AwayKind, str] = {"travel": "Travel", "holiday": "Holiday", "ill": "Ill"}


def place_text(place: Place | None, audience: str) -> list[str]:
    """Return version, week of the block and, for a coach, what today's plan says differently."""
    if place is None:
        return []
    version = place.version
    rows = [f"Version {version.number} of {version.on.isoformat()}"]
    if audience == "coach":
        by = f" by {version.by}" if version.by else ""
        reason = f": {version.reason}" if version.reason else ""
        rows = wrapped(f"{rows[0]} ({CAUSE_WORDS[version.cause]}{by}{reason})")
    rows += _block(place)
    if audience == "coach":
        rows += [row for each in place.warnings for row in wrapped(f"Open warning: {each}")]
    if audience == "coach" and place.differs:
        rows += wrapped(f"Today it says otherwise than version {version.number}:")
        rows += [row for each in place.differs for row in wrapped(each, "  - ", "    ")]
    return rows


def _block(place: Place) -> list[str]:
    rows = []
    if place.block_since is not None and place.block_weeks is not None:
        since = place.block_since.isoformat()
        if place.block_week > place.block_weeks:
            rows.append(f"The {place.block_weeks} weeks of the block since {since} are over.")
        else:
            rows.append(
                f"Week {place.block_week} of {place.block_weeks} of the block since {since}"
            )
    for away in place.away:
        kit = f", with {', '.join(away.equipment)}" if away.equipment else ""
        days = f"{away.since.isoformat()} to {away.until.isoformat()}"
        rows += wrapped(f"{AWAY_WORDS[away.kind]}, {days}{kit}".replace("_", " "))
    if place.easier_until is not None:
        rows.append(f"A lighter week, until {place.easier_until.isoformat()}")
    return rows
