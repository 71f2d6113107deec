"""Entry point of the command `whyplan`.

Exit codes: 0 fine, 1 a finding (a plan withheld, engines that disagree), 2 bad input.
"""

import argparse
import os
import sys
from collections.abc import Sequence

from assistant import __version__
from assistant.cli.registry import add_commands
from assistant.model.errors import EngineFault, InputProblems, Problem


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; never a traceback for bad input."""
    parser = argparse.ArgumentParser(
        prog="whyplan",
        description="From answers to a training and food plan that can be defended line by line.",
        epilog="Coaching information, not medical advice.",
    )
    parser.add_argument("--version", action="version", version=f"whyplan {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    typed = sys.argv[1:] if arguments is None else arguments
    add_commands(commands, typed)
    parsed, unknown = parser.parse_known_args(typed)
    if unknown:
        print(_unknown(unknown[0], parsed.command), file=sys.stderr)
        return 2
    try:
        code: int = parsed.run(parsed)
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
