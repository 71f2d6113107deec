"""Findings as SARIF 2.1.0 (OASIS, Static Analysis Results Interchange Format), for editors and CI."""

from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

from assistant import __version__
from assistant.model.chain import digest
from assistant.quality.finding import Finding, remedy
from assistant.quality.suite import Checked

SCHEMA = "https://json.schemastore.org/sarif-2.1.0.json"
VERSION = "2.1.0"
ROOT = "BOOKROOT"


def sarif_document(checked: Sequence[Checked], root_uri: str | None = None) -> dict[str, Any]:
    """Return one SARIF log with one run.

    root_uri: the folder above the rules folder as a `file://` address ending in `/`; paths of
    findings are relative to it, so that a log can be moved between machines.
    """
    findings = [finding for each in checked for finding in each.findings]
    codes = sorted({finding.code for finding in findings})
    run: dict[str, Any] = {
        "tool": {
            "driver": {
                "name": "whyplan check",
                "version": __version__,
                "rules": [_rule(code) for code in codes],
            }
        },
        "columnKind": "unicodeCodePoints",
        "results": [_result(finding, codes.index(finding.code)) for finding in findings],
        "properties": {"checks": {each.name: each.said for each in checked}},
    }
    if root_uri is not None:
        run["originalUriBaseIds"] = {ROOT: {"uri": root_uri}}
    return {"$schema": SCHEMA, "version": VERSION, "runs": [run]}


def _rule(code: str) -> dict[str, Any]:
    title = code.replace("-", " ")
    return {
        "id": code,
        "name": "".join(word.capitalize() for word in code.split("-")),
        "shortDescription": {"text": title},
        "help": {"text": remedy(code)},
    }


def _result(finding: Finding, rule_index: int) -> dict[str, Any]:
    text = f"{finding.what}; {finding.fix}"
    return {
        "ruleId": finding.code,
        "ruleIndex": rule_index,
        "level": finding.level,
        "message": {"text": text},
        "locations": [
            {
                "physicalLocation": {
                    "artifactLocation": {"uri": _uri(finding.file), "uriBaseId": ROOT},
                    "region": {"startLine": finding.line},
                }
            }
        ],
        # Without the line: a finding keeps its identity when lines above it move.
        "partialFingerprints": {"whyplanFinding/v1": _digest(finding.file, finding.code, text)},
        "properties": {"check": finding.check},
    }


def _uri(file: str) -> str:
    return quote(file)


def _digest(*parts: str) -> str:
    return digest("\0".join(parts))[:32]
