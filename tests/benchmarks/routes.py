"""How long the search for routes takes, how many routes a second, and how that grows with the number of things to choose from.

Run: ``python tests/benchmarks/routes.py``. Nothing is asserted: machines differ and are busy. Each mineral and carrier is copied
under further names, with all that the ontology holds of it; a copy is offered wherever its original is. Claim: the time grows
no faster than n·log n in the number n of options offered. Beside the time stands how the number of function calls grows, which no
other program on the machine changes.
"""

import cProfile
import gc
import pstats
import time
from collections.abc import Iterable
from math import log
from typing import Any, cast

from finishing_kg.advice import Advice
from finishing_kg.engine import Knowledge, Model
from finishing_kg.record import replace
from finishing_kg.routes import Case, Choice, Search, choices
from finishing_kg.statements import option_id, option_parts
from finishing_kg.vocabulary import Vocabulary

CASES = [
    Case(glass="lead-crystal", form="flat-face", surface="sawn", finish="polish"),
    Case(glass="soda-lime-studio", form="bas-relief", surface="mould-marked", finish="pre-polish"),
    Case(glass="borosilicate", form="rim", surface="broken", finish="polish"),
]
_COPY = "-copy"


def copied(vocabulary: Vocabulary, times: int) -> Vocabulary:
    """The vocabulary with every mineral and carrier ``times`` over."""
    names, claims = dict(vocabulary.names), list(vocabulary.claims)
    things = {name.id for kind in ("mineral", "carrier") for name in vocabulary.things(kind)}
    for number in range(1, times):
        for thing in things:
            names[f"{thing}{_COPY}{number}"] = replace(vocabulary.names[thing], id=f"{thing}{_COPY}{number}")
        for claim in vocabulary.claims:
            subject = f"{claim.subject}{_COPY}{number}" if claim.subject in things else claim.subject
            held = f"{claim.object}{_COPY}{number}" if isinstance(claim.object, str) and claim.object in things else claim.object
            if (subject, held) != (claim.subject, claim.object):
                claims.append(replace(claim, subject=subject, object=held))
    return replace(vocabulary, names=names, claims=tuple(claims))


class Copied:
    """A judged model in which each copy of an option stands as its original."""

    def __init__(self, model: Model, times: int) -> None:
        self.model, self.times = model, times

    def subjects(self, predicate: str) -> list[str]:
        """All subjects, with their copies: of a mineral and of a carrier under the same number."""
        return self._with_copies(self.model.subjects(predicate))

    def every_subject(self, predicate: str) -> list[str]:
        """All subjects of a relation, with their copies."""
        return self._with_copies(self.model.every_subject(predicate))

    def count(self, predicate: str, subject: str) -> int:
        """As of the original."""
        return self.model.count(predicate, _original(subject))

    def _with_copies(self, options: Iterable[str]) -> list[str]:
        found = []
        for option in options:
            mineral, hold, carrier, stage = option_parts(option)
            found += [option] + [option_id(f"{mineral}{_COPY}{n}", hold, f"{carrier}{_COPY}{n}", stage) for n in range(1, self.times)]
        return found

    def holds(self, predicate: str, subject: str) -> bool:
        """As of the original."""
        return self.model.holds(predicate, _original(subject))

    def objects(self, predicate: str, subject: str) -> Iterable[Any]:
        """As of the original."""
        return self.model.objects(predicate, _original(subject))


def _original(subject: str) -> str:
    return "/".join(part.split(_COPY)[0] for part in subject.split("/"))


def _minutes(search: Search, choice: Choice) -> str:
    minutes = search.minutes(choice.found)
    return f"{minutes:.3g} min" if minutes is not None else "in minutes that are not all known"


def _calls(search: Search) -> int:
    """How many functions are called for the routes of one search."""
    with cProfile.Profile() as profile:
        choices(search)
    return int(pstats.Stats(profile).total_calls)  # type: ignore[attr-defined]  # the stubs leave it out


def main() -> None:
    """Print minutes of the routes, routes a second, and how the time grows."""
    gc.set_threshold(100_000)  # as commands have it
    knowledge = Knowledge.shipped()
    for case in CASES:
        advice = Advice(knowledge, case)
        told = ", ".join(f"{choice.name} {_minutes(advice.search, choice)}" for choice in choices(advice.search))
        print(f"{case.form}, {case.surface} to {case.finish}: {told}")
        before: tuple[int, float, int] | None = None
        for times in (1, 3, 10):
            vocabulary = copied(knowledge.vocabulary, times)
            model = cast(Model, Copied(advice.model, times))
            taken, found = [], 0
            for _ in range(7):
                search = Search(vocabulary, model, case)
                begun = time.process_time()
                found = len(choices(search))
                taken.append(time.process_time() - begun)
            seconds, options = min(taken), len(model.subjects("isOffered"))
            calls = _calls(Search(vocabulary, model, case))
            grown = ""
            if before:
                bound = options * log(options) / (before[0] * log(before[0]))
                grown = f"; {seconds / before[1]:.1f} times as long, {calls / before[2]:.1f} times the calls, n log n would be {bound:.1f}"
            before = before or (options, seconds, calls)
            print(f"  {options:5} options: {1000 * seconds:6.1f} ms, {found / seconds:5.0f} routes a second{grown}")


if __name__ == "__main__":
    main()
