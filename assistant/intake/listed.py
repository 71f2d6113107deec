"""A line that names several choices: by number, id, label or another word people use for one."""

import difflib
import re
from collections import Counter
from collections.abc import Iterator, Mapping

from assistant.intake.quantities import Refusal, plain_name, tidy
from assistant.intake.slot import Slot
from assistant.model.facts import FactType
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
        "few",
        "couple",
        "pair",
        "of",
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
# A name that is not on the screen is offered for a slip of one or two letters only: medicines sound alike.
_ALIKE_UNSEEN = 0.85
_DOSE = re.compile(r"\b[0-9]+(?:[.,][0-9]+)? ?(?:mg|mcg|µg|μg|ml|units?|iu)\b")
_RANGE = re.compile(r"[0-9] ?(?:-|to|bis) ?[0-9]")
_TIME_OF_DAY = re.compile(r"\b(?:early|late|mornings?|afternoons?|evenings?|nights?|noon)\b")
_SEVERAL_NUMBERS = re.compile(r"[0-9]+(?: ?(?:,|&|and|und|or|oder) ?[0-9]+)+")
_BETWEEN = re.compile(r"[,;]|(?<!\bnow )\band\b", re.IGNORECASE)
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
    if near := _near(wanted, slot):
        told = "`{typed}` is not in the list; did you mean `{near}`?"
        refusal = Refusal(told, typed=text.strip(), near=near)
        refusal.instead = near
        raise refusal
    told = "`{typed}` is not in the list; type a number from 1 to {last}"
    if slot.declaration.type is FactType.CHOICES and not slot.question.needs_one:
        told = "`{typed}` is not in the list; type numbers from 1 to {last}, or none"
    raise Refusal(told, typed=text.strip(), last=len(options))


def _near(wanted: str, slot: Slot) -> str:
    """Return the name that a line is a slip of, or nothing.

    Each of its words must be like one of the name: `sits most of the day` is not `on the feet most of the day`.
    """
    if len(wanted) < _SHORTEST_TO_GUESS:
        return ""
    for known, alike in ((names(slot), _ALIKE), (slot.also, _ALIKE_UNSEEN)):
        for near in difflib.get_close_matches(wanted, known, n=3, cutoff=alike):
            said = [*_BESIDE, *near.split()]
            if all(
                difflib.get_close_matches(word, said, n=1, cutoff=alike) for word in wanted.split()
            ):
                return near
    return ""


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
            parts = [part for part in _BETWEEN.split(text) if word in _words(tidy(part))]
            found.add(_choice_in(parts[0] if parts else word, text, slot))
        else:
            found.update(chosen)
    return tuple(sorted(found)) if found else (str(one_choice(text, slot)),)


def _choice_in(part: str, text: str, slot: Slot) -> str:
    """Return the choice that a part of a line names; a near name is offered for the part, in its place."""
    try:
        return str(one_choice(part, slot))
    except Refusal as refusal:
        if refusal.instead:
            refusal.instead = text.replace(part.strip(), refusal.instead, 1)
        raise


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
    listed.setdefault(("now", "and", "then"), ())
    if slot.leads_to:
        # Ticking too much only asks more, so of a list to tick one word of an item is enough.
        one_item = _words_of_one_item(slot)
        for words, meant in listed.items():
            also = (item for word in words for item in one_item.get((word,), ()))
            listed[words] = tuple(dict.fromkeys((*meant, *also)))
        listed = one_item | listed
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
