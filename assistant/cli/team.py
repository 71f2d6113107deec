"""`whyplan team …`: who may sign in to a team's server."""

import argparse
import getpass
import sys

from assistant.cli.common import say_next
from assistant.cli.record import desk_of, today_of
from assistant.model.errors import InputProblems, Problem
from assistant.records.store import Records
from assistant.records.team import (
    Account,
    account_of,
    accounts,
    add_account,
    remove_account,
    set_password,
)
from assistant.web.team.passwords import hashed, made_ready, new_password


def run_add(args: argparse.Namespace) -> int:
    """Add somebody with a password. Raises InputProblems."""
    with desk_of(args).opened() as records:
        client = None if args.client is None else records.client(args.client)
        password = _password(args)
        add_account(records, args.name, args.role, hashed(password), today_of(args), client)
    print(f"{args.name} may sign in as {args.role}.")
    _say(args, password)
    return 0


def run_list(args: argparse.Namespace) -> int:
    """Print who may sign in, one a line."""
    with desk_of(args).opened() as records:
        found = accounts(records)
    if not found:
        print("Nobody may sign in yet.")
        say_next(["team", "add", "NAME", "--role", "trainer"], db=args.db)
    width = max((len(each.name) for each in found), default=0)
    for each in found:
        print(f"{each.name:<{width}}  {each.role:<8}  since {each.added_on.isoformat()}")
    return 0


def run_remove(args: argparse.Namespace) -> int:
    """Take an account away. Raises InputProblems."""
    with desk_of(args).opened() as records:
        account = _account(records, args.name)
        remove_account(records, account)
    print(f"{account.name} may not sign in any more; open pages of theirs are closed.")
    return 0


def run_password(args: argparse.Namespace) -> int:
    """Set a new password. Raises InputProblems."""
    with desk_of(args).opened() as records:
        account = _account(records, args.name)
        password = _password(args)
        set_password(records, account, hashed(password))
    print(f"{account.name} has a new password; open pages of theirs are closed.")
    _say(args, password)
    return 0


def _account(records: Records, name: str) -> Account:
    found = account_of(records, name)
    if found is None:
        known = [each.handle for each in accounts(records)]
        hint = "" if not known else f"; there are: {', '.join(known)}"
        raise InputProblems([Problem("NAME", "no-account", f"`{name}` has no account{hint}")])
    return found


def _password(args: argparse.Namespace) -> str:
    made_ready()
    if args.print_password:
        return new_password()
    if not sys.stdin.isatty():
        told = "a password is typed at a terminal; without one add --print-password"
        raise InputProblems([Problem("PASSWORD", "no-terminal", told)])
    first = getpass.getpass("Password: ")
    if first != getpass.getpass("The same again: "):
        raise InputProblems([Problem("PASSWORD", "not-the-same", "the two differ; try again")])
    return first


def _say(args: argparse.Namespace, password: str) -> None:
    if args.print_password:
        print(f"Password, shown this one time: {password}")
