"""The road to the date: phases as bands, the present block, and the days we look again."""

import datetime as dt
from dataclasses import dataclass

from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture, Scale, circle, drawing, line, rect, text

_START, _END = 8.0, 352.0
_BAND_TOP, _BAND_HEIGHT, _LANE = 34.0, 26.0, 16.0
_LETTER = 5.9  # width of a small letter, to keep labels inside the picture


@dataclass(frozen=True)
class Band:
    """A stretch of time with a name; `is_open` where its end is not planned yet."""

    label: str
    starts: dt.date
    ends: dt.date
    is_now: bool
    is_open: bool = False


@dataclass(frozen=True)
class Stop:
    """A single day with a name."""

    label: str
    day: dt.date


def road(bands: list[Band], stops: list[Stop], takeaway: str, words: PageWords) -> Picture:
    """Return bands over a line of time with the stops named below, one lane each."""
    first = min([b.starts for b in bands] + [s.day for s in stops])
    last = max([b.ends for b in bands] + [s.day for s in stops])
    scale = Scale(0, max(1, (last - first).days), _START, _END)

    def at(day: dt.date) -> float:
        return scale.at((day - first).days)

    def fits(band: Band) -> bool:
        return len(words.plain(band.label)) * _LETTER < at(band.ends) - at(band.starts)

    body: list[str] = []
    for band in bands:
        left, right = at(band.starts), at(band.ends)
        css = "band-strong" if band.is_now else "band"
        body.append(rect(left + 0.75, _BAND_TOP, right - left - 1.5, _BAND_HEIGHT,
                         f"{css} open" if band.is_open else css, 4))  # fmt: skip
        if fits(band):
            label = words.plain(band.label)
            body.append(text((left + right) / 2, _BAND_TOP + 17, label, "t", "middle"))
    body += _ends(first, last, words)
    foot = _BAND_TOP + _BAND_HEIGHT + 8
    below = [
        (at(stop.day), f"{stop.label}: {words.date(stop.day, 'date_short')}") for stop in stops
    ]
    below += [((at(b.starts) + at(b.ends)) / 2, b.label) for b in bands if not fits(b)]
    for j, (x, said) in enumerate(sorted(below)):
        y, label = foot + (j + 1) * _LANE, words.plain(said)
        anchor = "end" if x + len(label) * _LETTER > _END else "start"
        shift = -7 if anchor == "end" else 7
        body += [
            line(x, _BAND_TOP - 4, x, y - 4, "thread"),
            circle(x, y - 4, 3.5, "dot"),
            text(x + shift, y, label, "t small halo", anchor),
        ]
    title = words.plain(words.say("picture_road_title"))
    description = " ".join([*(_band_in_words(b, words) for b in bands),
                            *(f"{words.plain(s.label)}: {words.plain(words.date(s.day))}." for s in stops)])  # fmt: skip
    return drawing(
        "road", title, description, words.html(takeaway), foot + len(below) * _LANE + 8, body
    )


def _ends(first: dt.date, last: dt.date, words: PageWords) -> list[str]:
    return [
        text(_START, 20, words.plain(words.date(first, "date_short")), "t small quiet"),
        text(_END, 20, words.plain(words.date(last, "date_short")), "t small quiet", "end"),
    ]


def _band_in_words(band: Band, words: PageWords) -> str:
    key = "picture_road_open" if band.is_open else "picture_road_band"
    return words.plain(
        words.say(key, label=band.label, first=words.date(band.starts), last=words.date(band.ends))
    )
