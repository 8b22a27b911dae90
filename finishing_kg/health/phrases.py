"""Phrases that could be taken for each other."""

from collections.abc import Iterator

from finishing_kg.health.fault import Fault
from finishing_kg.statements import Language
from finishing_kg.statements.confusable import confusable


def shared_sentences(language: Language) -> Iterator[Fault]:
    """Pairs of phrases that could make the same sentence, with the shortest one."""
    phrases = language.vocabulary.phrases
    for first, second, sentence in confusable(language):
        one, other = phrases[first].words, phrases[second].words
        text = f"The phrases “{one}” and “{other}” could be taken for each other. Change the words of one."
        yield Fault("shared sentence", (), f"{first}, {second}", text, (), f"this can be read with both: {sentence}")
