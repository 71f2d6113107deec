"""A finished intake written as a case file, all at once or not at all."""

import datetime as dt
import json
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from assistant.intake.drafts import plain
from assistant.intake.events import SESSION_ONLY_FACTS
from assistant.knowledge.safe_files import sync_folder
from assistant.model.values import Value


def case_text(name: str, as_of: dt.date, answers: Mapping[str, Value]) -> str:
    """Return a case as YAML that uses JSON's values only.

    The answer about self-harm is left out whatever it was: it lives in the session only. Written
    as "no" or "does not apply" it would claim something nobody may read from a file, and written
    only when it was "yes" its absence would tell. So a case never has it, and after a "yes" no
    case is written at all (see `Dialogue.aside`).
    """
    lines = [f"name: {_scalar(name)}", f"as_of: {_scalar(as_of.isoformat())}", "answers:"]
    kept = {fact: value for fact, value in answers.items() if fact not in SESSION_ONLY_FACTS}
    if not kept:
        lines[-1] = "answers: {}"
    lines += [f"  {fact}: {_scalar(plain(value))}" for fact, value in kept.items()]
    return "\n".join(lines) + "\n"


def _scalar(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def write_atomically(path: Path, content: str | bytes) -> None:
    """Write a file for its owner alone, so that a kill leaves the old state or the new one.

    Raises OSError if the folder is missing or not writable.
    """
    descriptor, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(content.encode() if isinstance(content, str) else content)
            stream.flush()
            os.fsync(stream.fileno())
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    sync_folder(path.parent)
