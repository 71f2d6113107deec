"""The words of a picture of an exercise: its title, its labels, and all of it said aloud."""

from dataclasses import dataclass

from assistant.model.documents.figures import JOINTS
from assistant.model.documents.poses import Pose
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.language import FOREIGN_END, FOREIGN_START, Translator, read_language
from assistant.plan.phrases import Phrasebook

# What is not worth saying: degrees that nobody sees.
_LEAST_DEGREES = 8.0


@dataclass(frozen=True)
class FigureText:
    """id: begins the names of title and description in a page. labels: one a panel."""

    id: str
    title: str
    description: str
    labels: tuple[str, ...]


def figure_text(kb: KnowledgeBase, exercise_id: str, pose: Pose, language: str) -> FigureText:
    """Return the words of a pose in a language of the book."""
    tell, words, phrases = Translator(read_language(kb, language)), kb.figures.words, Phrasebook(kb)

    def say(template: str, **slots: str) -> str:
        filled = phrases.render(tell.text(template), slots.get)
        # A picture's title cannot be marked as English, so the marks go.
        return filled.replace(FOREIGN_START, "").replace(FOREIGN_END, "")

    names = tell.language.exercises
    name = tell.word(names, exercise_id, kb.exercises.by_id[exercise_id].name)
    is_hold = pose.end is None
    template = words.title_hold if is_hold else words.title
    assert pose.view is not None
    assert pose.start is not None
    said = [say(words.seen[pose.view])]
    for joint in JOINTS:
        first, last = (
            max(each.of(joint), key=abs) for each in (pose.start, pose.end or pose.start)
        )
        if abs(first - last) >= _LEAST_DEGREES:
            pattern = words.bends
        elif is_hold and abs(first) >= _LEAST_DEGREES:
            pattern = words.held
        else:
            continue
        joint_words = say(words.joints[joint])  # type: ignore[index]  # JOINTS are its names
        numbers = {"first": f"{first:.0f}", "last": f"{last:.0f}"}
        sentence = say(pattern, joint=joint_words, **numbers)
        said.append(sentence[:1].upper() + sentence[1:])
    return FigureText(
        id=f"figure-{exercise_id.replace('_', '-')}",
        title=say(template, exercise=name),
        description=" ".join(said),
        labels=tuple(map(say, (words.hold,) if is_hold else (words.start, words.end))),
    )
