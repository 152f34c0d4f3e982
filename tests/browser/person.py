"""A person at the bench: sees only what is asked, and tells it as it is in a circuit that the test knows."""

from __future__ import annotations

import re

from netdiff.circuit import Found, Part
from netdiff.quantities import show
from netdiff.tracing.answers import Answer, Item
from netdiff.tracing.questions import Question
from netdiff.tracing.view import BRAID, View, ends_of, small


class Person:
    """``answer(question)``: what somebody would say who has this unit before them. Strangers lie in ``zone``."""

    def __init__(self, found: Found, zone: str = "under") -> None:
        self.found, self.zone = found, zone
        self.parts = found.circuit.parts
        self.eyes = View(found.circuit)

    def answer(self, question: Question) -> Answer:
        if question.form == "zone":
            return self._glance(question)
        if question.form == "lug":
            return self._lug(question)
        if not question.expected and self.parts[question.about].foreign:
            return Answer("these", question.about, tuple(self._item(p, question) for p in self._ends(question.about)))
        if all(self._lands(p) == {lead.to for lead in question.expected if lead.at == p} for p in question.points):
            return Answer("as-drawn", question.about)
        if len(question.points) == 2 and "these" in {offer.kind for offer in question.offers}:
            landed = [self._landing(p) for p in self._ends(question.about)]
            if all(len(one) == 1 for one in landed):
                return Answer("these", question.about, tuple(item for one in landed for item in one))
        wrong = tuple(p for p in question.points if self._lands(p) != {d.to for d in question.expected if d.at == p})
        if len(wrong) < len(question.points):
            return Answer("but", question.about, but=wrong)
        return Answer("differs", question.about)

    def _glance(self, question: Question) -> Answer:
        """One thing at a time: what is missing, what is another, what is not in the drawing."""
        known = {lead.to for lead in question.known}
        for name, part in self.parts.items():
            if name in known or part.zone not in (question.zone, "" if question.zone == self.zone else question.zone):
                continue
            if part.foreign:
                return Answer("statement", question.about, words=f"{name} {described(part)}")
            if part.read_off and part.places:
                return Answer("read", name, words=described(part).partition(" ")[2])
        return Answer("none", question.about)

    def _lands(self, at: str) -> set[str]:
        return {lead.to for lead in self.eyes.leads(at)}

    def _ends(self, name: str) -> tuple[str, ...]:
        part = self.parts[name]
        return ends_of(part) if small(part) else part.points()

    def _landing(self, at: str) -> tuple[Item, ...]:
        return tuple(self._described(at, lead.to) for lead in self.eyes.leads(at) if lead.to != BRAID)

    def _item(self, at: str, question: Question) -> Item:
        return next(iter(self._landing(at)), Item("open"))

    def _lug(self, question: Question) -> Answer:
        items = self._landing(question.about)
        if {item.to for item in items} == {lead.to for lead in question.expected} and not any(
            i.described for i in items
        ):
            if "as-drawn" in {offer.kind for offer in question.offers}:
                return Answer("as-drawn", question.about)
        return Answer("these", question.about, items) if items else Answer("nothing", question.about)

    def _described(self, at: str, to: str) -> Item:
        for run in self.found.circuit.runs:
            if {run.a, run.b} == {at, to} and run.conductor and run.length is not None:
                return Item(to, conductor=run.conductor, length=f"{run.length * 1000:.0f}mm")
        return Item(to)


def described(part: Part) -> str:
    """``resistor 10k 1W``: as it is printed on the part."""
    words = [part.kind.name]
    if part.value is not None:
        words.append(re.sub(r"[\s\u00a0]|Ω", "", show(part.value, part.kind.unit)))
    words += [f"{value:g}{unit}" for unit, value in part.ratings.items()]
    return " ".join(words)
