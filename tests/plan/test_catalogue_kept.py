"""The exercise catalogue is read once for a loaded book, and never taken for another book's."""

import copy
import dataclasses

from assistant.model.knowledge import KnowledgeBase
from assistant.plan.week import catalogue_of


def renamed(kb: KnowledgeBase, name: str) -> KnowledgeBase:
    exercises = copy.deepcopy(kb.documents["exercises"])
    exercises["exercises"][0]["name"] = name
    return dataclasses.replace(kb, documents={**kb.documents, "exercises": exercises})


def test_each_book_keeps_its_own_catalogue(kb: KnowledgeBase) -> None:
    assert catalogue_of(kb) is catalogue_of(kb)
    first = kb.documents["exercises"]["exercises"][0]["id"]
    books = [renamed(kb, f"Name {number}") for number in range(6)]
    for _ in range(2):
        for number, book in enumerate(books):
            assert catalogue_of(book).exercises[first].name == f"Name {number}"
    # Books made and dropped one after the other: an address may come back, a catalogue may not.
    for number in range(12):
        assert (
            catalogue_of(renamed(kb, f"Brief {number}")).exercises[first].name == f"Brief {number}"
        )
