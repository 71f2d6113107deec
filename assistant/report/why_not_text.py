"""The rules that did not decide, as text."""

from assistant.explain.why_not_page import Entry, WhyNotPage
from assistant.plan.phrases import sentence_case
from assistant.report.text import wrapped


def why_not_text(page: WhyNotPage, command: str) -> str:
    """Return the page as text; `command` shows more of it."""
    rows: list[str] = []
    for line in page.now:
        rows += wrapped(sentence_case(line), "", "  ")
    if page.entries:
        rows += ["", "What did not decide it, the nearest first:"]
    told: dict[str, int] = {}
    for number, entry in enumerate(page.entries, start=1):
        rows += ["", *_entry(number, entry, told)]
    if page.more:
        rows += ["", f"{page.more} more: {command} --most {len(page.entries) + page.more}"]
    if not page.entries and not page.is_closed:
        rows += ["", "No other rule has a say in it."]
    return "\n".join(rows) + "\n"


def _entry(number: int, entry: Entry, told: dict[str, int]) -> list[str]:
    """Return one rule; `told` says under which number a reason has been given already."""
    first = f"{number}. "
    pad = " " * len(first)
    rows = wrapped(f"{entry.rule}: {entry.title}", first, pad)
    if entry.would_say:
        rows += wrapped(f"would say: {entry.would_say}", pad, pad + "  ")
    rows += wrapped(f"{entry.verdict}:" if entry.faults else entry.verdict, pad, pad)
    for fault in entry.faults:
        rows += wrapped(fault.text, pad + "- ", pad + "  ")
        for reason in (each for each in fault.because if each not in told):
            rows += wrapped(f"because: {reason}", pad + "    ", pad + "      ")
        earlier = {told[each] for each in fault.because if told.get(each, number) != number}
        if earlier:
            rows += wrapped(f"because: as under {min(earlier)}", pad + "    ", pad + "      ")
        told.update({each: told.get(each, number) for each in fault.because})
    if entry.asks:
        rows += wrapped(f"to ask: {', '.join(entry.asks)}", pad, pad + "  ")
    return rows
