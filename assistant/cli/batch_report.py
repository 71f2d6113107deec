"""`whyplan batch report FOLDER`: what a batch came to, counted over its parts."""

from collections.abc import Mapping
from pathlib import Path

from assistant.batch.summary import Summary, summary


def report(folder: Path) -> int:
    """Print the counts. Raises InputProblems."""
    found = summary(folder)
    print("\n".join(_rows(found)))
    return 0


def _rows(found: Summary) -> list[str]:
    parts = "1 part" if found.parts == 1 else f"{found.parts} parts"
    rows = [f"{found.plans} plans in {parts}, {sum(found.problems.values())} lines without one."]
    rows += _table("Without a plan", found.problems)
    rows += _table("Level of the screen", found.levels)
    rows += _table("Flags", found.flags)
    rows += _table("Referrals", found.referrals)
    rows += _table("Made by", found.engines)
    seconds = sum(found.seconds.values())
    if seconds and found.plans:
        each = 1000 * seconds / found.plans
        stages = ", ".join(f"{name} {spent:.1f}" for name, spent in found.seconds.items())
        rows.append(f"Processor time: {seconds:.1f} s, {each:.1f} ms a plan ({stages})")
    return rows


def _table(title: str, counts: Mapping[str, int]) -> list[str]:
    """The most frequent first, those alike by name."""
    in_order = sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
    return [title, *(f"  {number:>7}  {name}" for name, number in in_order)] if counts else []
