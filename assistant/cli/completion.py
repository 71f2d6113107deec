"""`whyplan completion SHELL`: a script that completes commands, options and choices without running whyplan."""

import argparse

from assistant.cli.registry import build_parser


def run(args: argparse.Namespace) -> int:
    """Print the script."""
    import shtab

    print(shtab.complete(build_parser(), shell=args.shell))
    return 0
