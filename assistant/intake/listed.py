"""A line that names several choices: by number, id, label or another word people use for one."""

import difflib
import re
from collections import Counter
from collections.abc import Iterator, Mapping

from assistant.intake.quantities import Refusal, plain_name, tidy
from assistant.intake.slot import Slot
from assistant.model.values import WEEKDAYS, Value

# Words between names that say nothing by themselves. "or" is not among them, and nor is "no".
_BESIDE = frozenset(
    [
        "and",
        "plus",
        "the",
        "my",
        "a",
        "an",
        "also",
        "both",
        "i",
        "am",
        "have",
        "take",
        "some",
        "just",
        "only",
        "und",
        "bit",
        "little",
        "slightly",
        "sometimes",
        "etwas",
        "manchmal",
    ]
)
# A near name is offered only where a slip of the finger is likely: never `now` for `no`.
_SHORTEST_TO_GUESS = 4
_ALIKE = 0.72
_DOSE = re.compile(r"\b[0-9]+(?:[.,][0-9]+)? ?(?:mg|mcg|µg|μg|ml|units?|iu)\b")
_RANGE = re.compile(r"[0-9] ?(?:-|to|bis) ?[0-9]")
_TIME_OF_DAY = re.compile(r"\b(?:early|late|mornings?|afternoons?|evenings?|nights?|noon)\b")
_SEVERAL_NUMBERS = re.compile(r"[0-9]+(?: ?(?:,|&|and|und|or|oder) ?[0-9]+)+")
_DAYS_FROM_TO = re.compile(r"([^\W\d_]+) ?(?:-|to|till|until|through|bis) ?([^\W\d_]+)")


def names(slot: Slot) -> dict[str, Value]:
    """Return what a choice is shown as, and its id, with the value it stands for."""
    shown = {plain_name(label): value for label, value in slot.options}
    return shown | {plain_name(choice): choice for choice in slot.choices}


def one_choice(text: str, slot: Slot) -> Value:
    """Return the choice that a line names. Raises Refusal, with a near name where there is one."""
    wanted, known = plain_name(text), names(slot)
    if wanted in known:
        return known[wanted]
    bare = _without_beside(wanted)
    if bare in known:
        return known[bare]
    meant = slot.also.get(slot.speech.meant(wanted)) or slot.also.get(bare) or ()
    if len(meant) == 1:
        return meant[0]
    options = slot.options
    if _SEVERAL_NUMBERS.fullmatch(wanted):
        told = "only one can be chosen here; type a number from 1 to {last}"
        raise Refusal(told, last=len(options))
    if re.fullmatch(r"[0-9]{1,3}", wanted):
        return _by_number(wanted, slot)
    if len(wanted) >= _SHORTEST_TO_GUESS and (
        near := difflib.get_close_matches(wanted, known, n=1, cutoff=_ALIKE)
    ):
        told = "`{typed}` is not in the list; did you mean `{near}`?"
        raise Refusal(told, typed=text.strip(), near=near[0])
    told = "`{typed}` is not in the list; type a number from 1 to {last}"
    raise Refusal(told, typed=text.strip(), last=len(options))


def several(text: str, slot: Slot) -> tuple[str, ...]:
    """Return all choices that a line names, sorted. Every word of it must be understood."""
    plain = _DOSE.sub("", tidy(text))
    says_when = any(_TIME_OF_DAY.search(label.lower()) for label, _ in slot.options)
    if set(slot.choices) == set(WEEKDAYS) and not says_when:
        plain = " ".join(_TIME_OF_DAY.sub("", plain).split())
    days = _days_from_to(plain, slot)
    if days:
        return tuple(sorted(days))
    known = _phrases(slot)
    if _RANGE.search(plain) and _words(plain) not in known:
        told = "`{typed}` can be a range; type the numbers one by one, with commas"
        raise Refusal(told, typed=text.strip())
    found: set[str] = set()
    for chosen, word in _read(plain, known, slot):
        if chosen is None:
            parts = [part for part in re.split(r"[,;]", text) if word in _words(tidy(part))]
            found.add(str(one_choice(parts[0] if parts else word, slot)))
        else:
            found.update(chosen)
    return tuple(sorted(found))


def _read(
    plain: str, known: Mapping[tuple[str, ...], tuple[str, ...]], slot: Slot
) -> Iterator[tuple[tuple[str, ...] | None, str]]:
    """Yield the choices of each phrase, the longest first; None with a word that says nothing here."""
    words = _words(plain)
    longest = max(map(len, known), default=1)
    while words:
        for count in range(min(longest, len(words)), 0, -1):
            if words[:count] in known:
                yield known[words[:count]], ""
                words = words[count:]
                break
        else:
            word, *rest = words
            if word.isdigit():
                yield (str(_by_number(word, slot)),), ""
            elif word not in _BESIDE:
                yield None, word
            words = tuple(rest)


def _phrases(slot: Slot) -> dict[tuple[str, ...], tuple[str, ...]]:
    listed = {_words(word): meant for word, meant in slot.also.items()}
    listed |= {_words(name): (str(value),) for name, value in names(slot).items()}
    if slot.leads_to:
        # Ticking too much only asks more, so of a list to tick one word of an item is enough.
        listed = _words_of_one_item(slot) | listed
    if slot.speech.language is not None:
        for typed, english in slot.speech.language.typed.items():
            if _words(english) in listed:
                listed.setdefault(_words(typed), listed[_words(english)])
    return listed


def _words_of_one_item(slot: Slot) -> dict[tuple[str, ...], tuple[str, ...]]:
    """Return the longer words that stand in the label of one item alone."""
    said = {str(value): set(_words(plain_name(label))) for label, value in slot.options}
    counted = Counter(word for words in said.values() for word in words)
    return {
        (word,): (item,)
        for item, words in said.items()
        for word in words
        if counted[word] == 1 and len(word) >= _SHORTEST_TO_GUESS
    }


def _words(plain: str) -> tuple[str, ...]:
    return tuple(re.findall(r"[\w%\'][\w%\'.]*", plain.replace("_", " ").replace("-", " ")))


def _without_beside(plain: str) -> str:
    return " ".join(word for word in plain.rstrip(".!").split() if word not in _BESIDE)


def _by_number(digits: str, slot: Slot) -> Value:
    number, options = int(digits), slot.options
    if 1 <= number <= len(options):
        return options[number - 1][1]
    told = "there is no number {number}; the list goes from 1 to {last}"
    raise Refusal(told, number=number, last=len(options))


def _days_from_to(plain: str, slot: Slot) -> tuple[str, ...]:
    found = _DAYS_FROM_TO.fullmatch(plain)
    if found is None or set(slot.choices) != set(WEEKDAYS):
        return ()
    known = _phrases(slot)
    ends = [known.get((end,), ()) for end in found.groups()]
    if any(len(end) != 1 for end in ends):
        return ()
    first, last = (WEEKDAYS.index(end[0]) for end in ends)
    return WEEKDAYS[first : last + 1] if first <= last else WEEKDAYS[first:] + WEEKDAYS[: last + 1]
