"""Answers out of a FHIR R4 file: a QuestionnaireResponse, or a Bundle that holds one or measures."""

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

from assistant.exchange.answer_items import item_value, quantity_value
from assistant.exchange.measures import measured
from assistant.exchange.portable import Gathered, Portable
from assistant.exchange.terms import Json, questionnaire_url
from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.strict_json import strict_json
from assistant.model.errors import InputProblems, Problem, Refused
from assistant.model.knowledge import KnowledgeBase

_USABLE = ("completed", "amended", "in-progress")
_FINAL = ("final", "amended", "corrected")
_PASSED_OVER = {"Questionnaire", "Patient", "Observation"}
_ISO_DAY = len("2026-01-31")


def read_bundle(content: bytes, place: str, kb: KnowledgeBase) -> Portable:
    """Return name, day and checked answers of a file.

    Answers come from the response; a measure it lacks is taken from the newest Observation with a
    code of ours. Raises InputProblems with everything that is wrong.
    """
    try:
        document = strict_json(content)
    except Refused as refused:
        raise InputProblems([refused.at(place)]) from None
    reader = _Reader(kb, place)
    reader.read(document)
    return reader.checked()


class _Reader(Gathered):
    """Reads the resources of a bundle."""

    def read(self, document: Any) -> None:
        found = list(self._resources(document))
        responses = [(at, r) for at, r in found if r["resourceType"] == "QuestionnaireResponse"]
        people = [r for _, r in found if r["resourceType"] == "Patient"]
        if self.problems:
            return
        if len(responses) > 1 or len(people) > 1:
            self._wrong(
                "", "several-people", "holds several people or responses; send one at a time"
            )
            return
        self.name = _name(people[0]) if people else ""
        for at, resource in responses:
            self._response(at, resource)
        self._measures([(at, r) for at, r in found if r["resourceType"] == "Observation"])
        if self.as_of is None and not self.problems:
            text = "holds no answers: no QuestionnaireResponse and no measure with a code of ours"
            self._wrong("", "nothing-found", text)

    def _wrong(self, at: str, code: str, text: str) -> None:
        place = f"{self.file}: {at}" if at else self.file
        self.problems.append(Problem(place, code, text))

    def _resources(self, document: Any) -> Iterator[tuple[str, Json]]:
        kind = document.get("resourceType") if isinstance(document, dict) else None
        if kind == "QuestionnaireResponse":
            yield "QuestionnaireResponse", document
            return
        if kind != "Bundle":
            allowed = "allowed: a Bundle or a QuestionnaireResponse (FHIR R4, JSON)"
            self._wrong("", "not-fhir", f"`resourceType` is `{shown(kind)}`; {allowed}")
            return
        entries = document.get("entry", [])
        for number, entry in enumerate(entries if isinstance(entries, list) else []):
            resource = entry.get("resource") if isinstance(entry, dict) else None
            at = f"Bundle.entry[{number}].resource"
            kind = resource.get("resourceType") if isinstance(resource, dict) else None
            if not isinstance(kind, str):
                self._wrong(at, "not-fhir", "has no `resourceType`; every entry needs a resource")
            elif kind in _PASSED_OVER or kind == "QuestionnaireResponse":
                assert isinstance(resource, dict)
                yield at, resource
            else:
                self.left_out.append(f"{at}: a {shown(kind)}, which holds no answers of ours")

    def _response(self, at: str, resource: Json) -> None:
        asked = str(resource.get("questionnaire", "")).partition("|")[0]
        ours = questionnaire_url(self.kb)
        if asked != ours:
            text = f"answers `{shown(asked)}`; allowed: `{ours}`"
            self._wrong(f"{at}.questionnaire", "other-questionnaire", text)
            return
        if resource.get("status") not in _USABLE:
            text = f"is `{shown(resource.get('status'))}`; allowed: {', '.join(_USABLE)}"
            self._wrong(f"{at}.status", "bad-value", text)
        self.as_of = self._date(f"{at}.authored", resource.get("authored"))
        for where, item in self._items(at, resource.get("item", [])):
            self._answer(where, item)

    def _date(self, at: str, raw: Any) -> dt.date | None:
        try:
            # A moment counts for the day that is written; its hour and zone do not matter here.
            return dt.date.fromisoformat(raw[:_ISO_DAY])
        except (TypeError, ValueError):
            text = f"is `{shown(raw)}`; allowed: a date such as 2026-01-31"
            self._wrong(at, "bad-value", text)
            return None

    def _items(self, at: str, items: Any) -> Iterator[tuple[str, Json]]:
        if not isinstance(items, list):
            self._wrong(f"{at}.item", "bad-type", "is no list of items")
            return
        sections = {section.id for section in self.kb.sections}
        for number, item in enumerate(items):
            where = f"{at}.item[{number}]"
            if not isinstance(item, dict) or not isinstance(item.get("linkId"), str):
                self._wrong(where, "bad-type", "is no item with a `linkId`")
            elif item["linkId"] in sections:
                yield from self._items(where, item.get("item", []))
            else:
                yield where, item

    def _answer(self, at: str, item: Json) -> None:
        fact = item["linkId"]
        declaration = self.kb.facts.get(fact)
        if declaration is None or declaration.origin != "answer":
            answerable = [each.id for each in self.kb.facts.values() if each.origin == "answer"]
            text = f"`{shown(fact)}` is no question of ours{did_you_mean(fact, answerable)}"
            self._wrong(at, "unknown-fact", text)
            return
        if fact in self.places:
            self._wrong(at, "two-values", f"`{fact}` is answered twice; keep one")
            return
        self.places[fact] = f"{self.file}: {at}"
        try:
            value = item_value(self.kb, declaration, item)
        except Refused as error:
            self._wrong(at, error.code, f"`{fact}` {error.text}")
            return
        if value is not None:
            self.raw[fact] = value

    def _measures(self, found: list[tuple[str, Json]]) -> None:
        dated = sorted(self._usable(found), key=lambda item: item[0], reverse=True)
        by_code = {code.loinc: code for code in self.kb.exchange.observations}
        seen: dict[str, tuple[dt.date, Any]] = {}
        for day, at, resource in dated:
            if self.as_of is not None and day > self.as_of:
                self.left_out.append(f"{at}: taken after the answers")
                continue
            for loinc, given in measured(resource):
                code = by_code.get(loinc)
                declaration = self.kb.facts[code.fact] if code else None
                if code is None or declaration is None or declaration.origin != "answer":
                    continue  # worked out again from the answers
                try:
                    value = quantity_value(given, declaration.unit)
                except Refused as error:
                    self._wrong(at, error.code, f"`{code.fact}` {error.text}")
                    continue
                earlier = seen.setdefault(code.fact, (day, value))
                if earlier[0] == day and earlier[1] != value:
                    text = f"`{code.fact}` has two values on {day.isoformat()}; keep one"
                    self._wrong(at, "two-values", text)
                self._measure(at, code.fact, code.when, day, value)
        if self.as_of is None and dated:
            self.as_of = dated[0][0]

    def _usable(self, found: list[tuple[str, Json]]) -> Iterator[tuple[dt.date, str, Json]]:
        for at, resource in found:
            if resource.get("status") not in _FINAL:
                self.left_out.append(f"{at}: status is not {', '.join(_FINAL)}")
                continue
            day = self._date(f"{at}.effectiveDateTime", resource.get("effectiveDateTime"))
            if day is not None:
                yield day, at, resource

    def _measure(
        self, at: str, fact: str, when: Mapping[str, str], day: dt.date, value: Any
    ) -> None:
        answered = self.raw.get(fact)
        if fact in self.places:
            is_number = isinstance(answered, int | float)
            if is_number and answered != value and day == self.as_of:
                text = f"`{fact}` is {shown(value)} here and {shown(answered)} in the answers; keep one"
                self._wrong(at, "two-values", text)
            return
        self.raw[fact] = value
        self.places[fact] = f"{self.file}: {at}"
        for site, answer in when.items():
            if site not in self.places:
                self.raw[site] = answer
                self.places[site] = f"{self.file}: {at}"


def _name(patient: Json) -> str:
    names = patient.get("name")
    first = names[0] if isinstance(names, list) and names and isinstance(names[0], dict) else {}
    if isinstance(first.get("text"), str):
        return str(first["text"])
    given = first.get("given")
    parts = [*(given if isinstance(given, list) else []), first.get("family", "")]
    return " ".join(part for part in parts if isinstance(part, str) and part)
