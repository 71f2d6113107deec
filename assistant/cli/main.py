"""Entry point of the command `whyplan`; what its exit codes mean stands in `registry.EXIT_CODES`."""

import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module

from assistant.cli.progress import offered
from assistant.cli.registry import build_parser
from assistant.model.errors import EngineFault, InputProblems, Problem

# Objects made before a look at the youngest, and how many of those looks before one at the older.
_RARELY = (50_000, 20, 50)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; never a traceback for bad input."""
    # A command makes a great deal that lives until it ends; looking again and again for what could be
    # thrown away costs a fifth of its time.
    gc.set_threshold(*_RARELY)
    typed = sys.argv[1:] if arguments is None else arguments
    parsed, unknown = build_parser(typed).parse_known_args(typed)
    if unknown:
        print(_unknown(unknown[0], parsed.command), file=sys.stderr)
        return 2
    try:
        module, _, function = parsed.run.partition(":")
        run = getattr(import_module(f"assistant.cli.{module}"), function)
        with offered(wanted=not getattr(parsed, "quiet", True)):
            code: int = run(parsed)
        sys.stdout.flush()
    except InputProblems as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return 2
    except EngineFault as error:
        print(f"no plan: {error}", file=sys.stderr)
        return 1
    except BrokenPipeError:
        # The reader (a pager, `head`) went away; that is no error of ours.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 130
    return code


def _unknown(word: str, command: str) -> Problem:
    """Say which word a command does not read, and where stands what it reads."""
    text = f"`whyplan {command}` does not take this; what it takes: whyplan {command} --help"
    return Problem(word, "unknown-option", text)


if __name__ == "__main__":
    sys.exit(main())
