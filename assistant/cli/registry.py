"""Every command's parser, in the order the help lists them."""

import argparse
from collections.abc import Callable

from assistant.cli import (
    batch,
    check,
    checkin,
    client,
    exchange,
    flip,
    intake,
    log,
    phases,
    picture,
    plan,
    referral,
    review,
    rules,
    schema,
    today,
    week,
    what_if,
    why,
    why_not,
)

COMMANDS: tuple[Callable[["argparse._SubParsersAction[argparse.ArgumentParser]"], None], ...] = (
    intake.add_parser,
    plan.add_parser,
    why.add_parser,
    why_not.add_parser,
    what_if.add_parser,
    flip.add_parser,
    picture.add_parser,
    week.add_parser,
    review.add_parser,
    phases.add_parser,
    referral.add_parser,
    log.add_parser,
    batch.add_parser,
    client.add_parser,
    checkin.add_parser,
    today.add_parser,
    check.add_parser,
    exchange.add_parser,
    rules.add_parser,
    schema.add_parser,
)
