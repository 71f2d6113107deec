"""Values as the engines read them: numbers that both parse, texts escaped for each."""

import math

from assistant.model.errors import EngineFault


def number_text(value: float) -> str:
    """Return the shortest decimal text that reads back as the same number.

    There is always a point before an exponent: durable_rules refuses `1e-05`.
    """
    if not math.isfinite(value):
        raise EngineFault(f"{value} cannot be given to a rule engine")
    text = repr(float(value) + 0.0)
    mantissa, exponent_mark, exponent = text.partition("e")
    if exponent_mark and "." not in mantissa:
        text = f"{mantissa}.0e{exponent}"
    return text


def clips_text(value: str) -> str:
    """Return a text as a CLIPS string literal."""
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
