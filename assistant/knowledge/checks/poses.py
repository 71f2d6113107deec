"""Poses against the body they are drawn on: no joint goes further than its range."""

from collections.abc import Iterator

from assistant.knowledge.draft import Draft
from assistant.model.documents.figures import Figures
from assistant.model.errors import Problem


def check_poses(draft: Draft) -> Iterator[Problem]:
    """Yield joints that go too far; one without a range is told with figures.yaml."""
    figures = draft.files.get("figures")
    if not isinstance(figures, Figures):
        return
    for pattern, file in draft.poses.items():
        for number, pose in enumerate(file.poses):
            for field in ("start", "through", "end"):
                position = getattr(pose, field)
                if position is None:
                    continue
                place = draft.place("pose", pattern, "poses", number, field)
                for name, joint in figures.joints.items():
                    for value in dict.fromkeys(position.of(name)):
                        if not joint.low <= value <= joint.high:
                            text = f"`{name}` is {value:g}; allowed: {joint.low:g} to {joint.high:g} degrees"
                            yield Problem(place, "out-of-range", text)
