"""The four rule documents as plain data, and the catalogue made of them."""

from __future__ import annotations

import copy
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from assistant.programme.catalogue import Catalogue, catalogue_from_documents

RULES = Path(__file__).parents[2] / "rules"
NAMES = ("exercises", "muscles", "programme", "limits")


@cache
def _parsed() -> dict[str, Any]:
    return {
        name: yaml.load((RULES / f"{name}.yaml").read_text("utf-8"), Loader=yaml.CSafeLoader)
        for name in NAMES
    }


def documents() -> dict[str, Any]:
    """Fresh copies, so that a test may break one."""
    return copy.deepcopy(_parsed())


@cache
def catalogue() -> Catalogue:
    return catalogue_from_documents(**_parsed())


@cache
def rows() -> dict[str, dict[str, Any]]:
    """Exercise rows as they stand in the file, by id."""
    return {row["id"]: row for row in _parsed()["exercises"]["exercises"]}


@cache
def pattern_rows() -> dict[str, dict[str, Any]]:
    return {row["id"]: row for row in _parsed()["exercises"]["patterns"]}


@cache
def limit_rows() -> dict[str, dict[str, Any]]:
    return {row["id"]: row for row in _parsed()["limits"]["limits"]}


def setting(section: str, name: str) -> Any:
    return _parsed()["programme"][section][name]["value"]
