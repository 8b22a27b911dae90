"""Questions back to the maker: only what decides, the most deciding first, each with its choices."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishing_kg.advice.contract import AskBack
from finishing_kg.advice.deciding import Decided, deciding, lacking
from finishing_kg.advice.possible import possible
from finishing_kg.advice.telling_apart import OF_OPTIONS, OF_STEPS, limits_of, rules_behind
from finishing_kg.routes import PARTS

if TYPE_CHECKING:
    from finishing_kg.advice.ask import Advice
    from finishing_kg.vocabulary import Vocabulary

# The words are the questions themselves.
_QUESTIONS = {
    "finish": "How should it end: ground, satin, frosted, pre-polished, polished?",
    "form": "Where is the work: a flat face, an edge or rim, a curve, a relief, a cut line, the inside?",
    "surface": "What is the surface like now: sawn, ground (to which grade), from the mould, broken, blasted, pre-polished?",
    "surface_grade": "Which grade was it ground with? The first step follows from it.",
    "glass": "Which glass is it?",
    "make": "How was it made: blown, cast, pressed, fused, from sheet?",
}
_ONLY_CAUTIONS, _STEPS_TOO = "The cautions hang on it.", "The steps hang on it."
_IF_UNKNOWN = "If you do not know, say “I don't know”."


def needed(advice: Advice) -> list[AskBack]:
    """What must be known before a safe route can be given; nothing where one can."""
    return [_asked(advice, part) for part in lacking(advice)]


def helpful(advice: Advice) -> list[AskBack]:
    """What would help to know: exactly that on which the advice hangs, beside what is needed for any; nothing where nobody asks for it."""
    return [_asked(advice, each.slot, each) for each in deciding(advice)] if advice.asking else []


def _asked(advice: Advice, slot: str, decided: Decided | None = None) -> AskBack:
    vocabulary = advice.knowledge.vocabulary
    if slot not in PARTS:
        return _measure_asked(advice, slot)
    told = _QUESTIONS[slot]
    if decided is not None and not told.endswith("."):
        told = f"{told} {_STEPS_TOO if decided.steps else _ONLY_CAUTIONS}"
    choices = [] if slot == "surface_grade" else [vocabulary.names[value].notation for value in possible(vocabulary, advice.case, slot)]
    return AskBack(about=slot, text=told, choices=choices, if_unknown=_IF_UNKNOWN)


def _measure_asked(advice: Advice, measure: str) -> AskBack:
    vocabulary = advice.knowledge.vocabulary
    words = vocabulary.phrases[measure].words
    limits = sorted(
        limits_of(rules_behind(advice.knowledge, (*OF_OPTIONS, *OF_STEPS)), measure),
        key=lambda limit: vocabulary.units.convert(limit, limit.unit).mid,
    )
    told = " and ".join(str(limit) for limit in limits)
    text = f"What is the {words} of the piece? The advice changes at {told}."
    return AskBack(about=words.replace(" ", "_"), text=text, if_unknown=_IF_UNKNOWN)


def slots_asked(vocabulary: Vocabulary) -> dict[str, str]:
    """By what a question is about the part of a case, or the measure, that it asks for."""
    measures = {phrase.words.replace(" ", "_"): phrase.id for phrase in vocabulary.phrases.values() if phrase.shape == "quantity"}
    return {**measures, **{part: part for part in PARTS}}
