"""Hard sets a week for each muscle, against the target and the range it may move in."""

from assistant.model.programme import MuscleWeek
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture, Scale, drawing, line, rect, text

_LABELS, _END, _ROW, _HEAD = 122.0, 318.0, 20.0, 30.0
_TICKS = 5


def sets_per_muscle(muscles: list[MuscleWeek], words: PageWords) -> Picture:
    """Return bars (planned sets) over bands (low end to ceiling) with a tick at the target."""
    top = max(max(m.ceiling, m.sets, m.target) for m in muscles)
    scale = Scale(0, top, _LABELS, _END)
    bottom = _HEAD + len(muscles) * _ROW
    body = _legend(words)
    step = max(1, round(top / _TICKS))
    for tick in range(0, int(top) + 1, step):
        body.append(line(scale.at(tick), _HEAD - 2, scale.at(tick), bottom, "hair"))
        body.append(text(scale.at(tick), bottom + 12, str(tick), "t small quiet", "middle"))
    for j, muscle in enumerate(muscles):
        y = _HEAD + j * _ROW
        name = words.plain(words.phrases.label(muscle.muscle, "short"))
        body += [
            text(0, y + 14, name, "t strong" if muscle.priority else "t"),
            rect(scale.at(muscle.low), y + 2, scale.at(muscle.ceiling) - scale.at(muscle.low), 16,
                 "band", 3),
            rect(_LABELS, y + 6, scale.at(muscle.sets) - _LABELS, 8, "bar", 2),
            rect(scale.at(muscle.target) - 1.25, y + 2, 2.5, 16, "mark"),
            text(_END + 6, y + 14, words.count(muscle.sets), "t"),
        ]  # fmt: skip
    title = words.plain(words.say("picture_sets_title"))
    description = " ".join(_row_in_words(m, words) for m in muscles)
    reached = sum(m.sets >= m.target for m in muscles)
    short = len(muscles) - reached
    takeaway = words.say(
        "picture_sets_takeaway" if short else "picture_sets_takeaway_all",
        reached=str(reached),
        all=str(len(muscles)),
        short=str(short),
    )
    return drawing("sets-per-muscle", title, description, words.html(takeaway), bottom + 18, body)


def _legend(words: PageWords) -> list[str]:
    parts: list[str] = []
    x = 0.0
    for css, key in (
        ("bar", "legend_planned"),
        ("mark", "legend_target"),
        ("band", "legend_range"),
    ):
        width = 2.5 if css == "mark" else 14.0
        height = 14.0 if css == "mark" else 8.0
        label = words.plain(words.say(key))
        parts.append(rect(x, 10 - height / 2, width, height, css))
        parts.append(text(x + width + 5, 14, label, "t small"))
        x += width + 17 + 5.6 * len(label)
    return parts


def _row_in_words(muscle: MuscleWeek, words: PageWords) -> str:
    return words.plain(
        words.say(
            "picture_sets_row",
            muscle=words.phrases.label(muscle.muscle),
            planned=words.count(muscle.sets),
            target=words.count(muscle.target),
            low=words.count(muscle.low),
            high=words.count(muscle.ceiling),
        )
    )
