"""Ontology and rules together: what every question is put to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from finishing_kg.engine.evaluate import Model, evaluate
from finishing_kg.proofs import Fact
from finishing_kg.rules import RuleBase
from finishing_kg.rules.shipped import shipped_rules, shipped_sections
from finishing_kg.statements import Language, Statement
from finishing_kg.vocabulary import Vocabulary
from finishing_kg.vocabulary.shipped import shipped_vocabulary

if TYPE_CHECKING:
    from pathlib import Path


@dataclass(frozen=True)
class Knowledge:
    """The vocabulary, its language and the rules written in it."""

    vocabulary: Vocabulary
    language: Language
    base: RuleBase

    @classmethod
    def shipped(cls) -> Knowledge:
        """What comes with the program, from its compiled form where there is one.

        Raises:
            DataMissing, OntologyError, RuleFileError: the shipped files are missing or spoilt.
        """
        sections = shipped_sections()
        vocabulary = shipped_vocabulary(sections)
        language = Language(vocabulary)
        return cls(vocabulary, language, shipped_rules(language, sections))

    @classmethod
    def load(cls, ontology: Path, rule_files: list[Path]) -> Knowledge:
        """Read an ontology folder and rule files."""
        from finishing_kg.rules import load_rules
        from finishing_kg.vocabulary import load_vocabulary

        vocabulary = load_vocabulary(ontology)
        language = Language(vocabulary)
        return cls(vocabulary, language, load_rules(rule_files, language))

    @cached_property
    def facts(self) -> dict[Statement, Fact]:
        """What the ontology holds, as statements."""
        return {Statement(claim.predicate, claim.subject, claim.object): Fact(claim.basis) for claim in self.vocabulary.claims}

    def evaluate(self, facts: Mapping[Statement, Fact]) -> Model:
        """All that follows from a question's facts and what the ontology holds."""
        return evaluate(self.vocabulary, self.base, {**self.facts, **facts})
