"""Free text of one turn to a ``Reading``: the only door to this room's reading half."""

from __future__ import annotations

from dataclasses import dataclass, replace

from finishing_kg.chat.intents import Asked, ask_of, intent_of, step_of
from finishing_kg.chat.lexicon import Match, lexicon_of
from finishing_kg.chat.line import Line
from finishing_kg.chat.measured import measures_of
from finishing_kg.chat.reading import SLOTS, Doubt, GradeWords, Reading, Slot
from finishing_kg.chat.roles import Roles, decide, role_score
from finishing_kg.chat.slots import resolve
from finishing_kg.chat.tools import sort_tools, tool_matches
from finishing_kg.chat.words import LONGEST, clean
from finishing_kg.vocabulary import Name, Vocabulary

_MOST_UNUSED = 40
_GRADE_SLOTS = ("grade", "surface_grade", "surface")


def read(vocabulary: Vocabulary, text: str, waiting_for: tuple[str, ...] = ()) -> Reading:
    """Read one turn.

    Args:
        vocabulary: the ontology; its words are indexed at the first call.
        text: whatever was typed or pasted; never an error, at most ``LONGEST`` characters are read.
        waiting_for: slots that the last answer asked for: a bare answer is taken for one of them.

    Returns:
        What the turn says by itself. What is not certain is a doubt, not a value.
    """
    cleaned, cut = clean(text)
    line = Line.of(cleaned, lexicon_of(vocabulary))
    reading = _Reader(vocabulary, line, waiting_for).reading()
    if not cut:
        return reading
    doubt = Doubt("text", f"The text is long; only its first {LONGEST} characters were read.")
    return replace(reading, doubts=(*reading.doubts, doubt))


@dataclass
class _Reader:
    """The steps of one reading, in the order in which they need each other."""

    vocabulary: Vocabulary
    line: Line
    waiting_for: tuple[str, ...]

    def reading(self) -> Reading:
        line = self.line
        asked = ask_of(line)
        roles = decide(line, asked.tokens, self.waiting_for)
        slots, doubts = self._slots(asked, roles)
        tools = sort_tools(line, tool_matches(line, asked.tokens))
        surface_grade, goal_grade, others = self._grades(roles, slots)
        measured = measures_of(line)
        intent = intent_of(line, asked, slots, tools)
        about = asked.about or (tools.planned if intent == "why_not" else [])
        return Reading(
            intent=intent,
            slots=slots,
            surface_grade=surface_grade,
            goal_grade=goal_grade,
            grades=others,
            restrictions=tuple(tools.restrictions),
            about=self._names(about),
            planned=self._names(tools.planned),
            mentioned=self._names(tools.mentioned),
            measures=measured.quantities,
            step=step_of(line),
            dont_know=line.any_cue("cue-unsure"),
            unused=self._unused(measured.unused),
            doubts=(*doubts, *self._state_doubts(roles), *self._torn(), *measured.doubts),
        )

    def _names(self, ids: list[str]) -> tuple[Name, ...]:
        return tuple(self.vocabulary.names[each] for each in ids)

    def _slots(self, asked: Asked, roles: Roles) -> tuple[dict[str, Slot], list[Doubt]]:
        line = self.line
        slots: dict[str, Slot] = {}
        doubts: list[Doubt] = []
        for kind in SLOTS:
            if kind == "surface":
                said = self._present(roles)
            elif kind == "finish":
                said = self._wanted(roles)
            else:
                said = [match for match in line.matches if self._describes(match, kind, asked.tokens)]
            slot, unsure = resolve(line, kind, said)
            doubts += unsure
            if slot:
                slots[kind] = self._made_on(slot, roles) if kind == "surface" else slot
        return slots, doubts

    def _present(self, roles: Roles) -> list[Match]:
        """Surfaces in order; what was ground with a named grade has left behind what was there before."""
        graded = [number for number, match in enumerate(roles.surfaces) if match.first in roles.graded]
        return roles.surfaces[graded[-1] :] if graded else roles.surfaces

    def _describes(self, match: Match, kind: str, skipped: set[int]) -> bool:
        line = self.line
        if match.torn or match.first in skipped or match.first in line.described or not line.ids(match, kind):
            return False
        return not line.negated(match)

    def _wanted(self, roles: Roles) -> list[Match]:
        """Goals in order; one that is asked for outright comes last, so that it wins."""
        scored = [(match, role_score(self.line, match)) for match in roles.goals]
        if not any(score > 0 for _, score in scored):
            return roles.goals
        return [match for match, score in scored if score <= 0] + [match for match, score in scored if score > 0]

    def _made_on(self, slot: Slot, roles: Roles) -> Slot:
        """*Ground on the belt* is belt-ground where the ontology knows that word: the tool's word goes before the surface's."""
        line = self.line
        for match in roles.surfaces:
            for tool in line.matches:
                if tool.first not in line.described or not line.ids(tool, "carrier", "machine") or set(line.ids(match, "surface")) != set(slot.ids):
                    continue
                for token in line.tokens[tool.first : tool.last]:
                    senses = line.lexicon.find(f"{token.key} {line.words(match.first, match.last)}")
                    ids = tuple(each for each in senses.things if self.vocabulary.names[each].kind == "surface") if senses else ()
                    if ids:
                        return Slot(ids, line.words(min(match.first, tool.first), max(match.last, tool.last)), slot.corrected)
        return slot

    def _grades(self, roles: Roles, slots: dict[str, Slot]) -> tuple[GradeWords | None, GradeWords | None, tuple[GradeWords, ...]]:
        """The grade of the surface, the grade of the goal, and the others."""
        line = self.line
        surface = next((roles.graded[match.first] for match in reversed(roles.surfaces) if match.first in roles.graded), None)
        goal = next((roles.graded[match.first] for match in reversed(roles.goals) if match.first in roles.graded), None)
        free = dict(roles.free)
        asked_for = not set(self.waiting_for).isdisjoint(_GRADE_SLOTS)
        if asked_for and not free and surface is None and len(line.bare) == 1:
            free = {index: GradeWords(mark.words, bare=True) for index, mark in line.bare.items() if index not in line.described}
        for index, words in sorted(free.items()):
            owner = line.owner[index - 1] if index else None
            cue = self._grade_cue(index)
            alone = "surface" in slots and len(free) == 1 and not self._of_tool(owner)
            if surface is None and (cue < 0 or (cue == 0 and (asked_for or alone))):
                surface = words
            elif goal is None and cue == 1:
                goal = words
            else:
                continue
            del free[index]
            line.described.add(index)
        if surface and "surface" not in slots and not asked_for:
            self._ground_by(surface, slots)
        return surface, goal, tuple(free.values())

    def _of_tool(self, owner: Match | None) -> bool:
        return owner is not None and bool(self.line.ids(owner, "mineral", "carrier", "hold"))

    def _grade_cue(self, index: int) -> int:
        line = self.line
        for at, _ in line.before(index, 8):
            if line.cue_at(at, "cue-have", "cue-only", "cue-plan", "cue-ask-plan", "cue-without"):
                return 2
            if line.cue_at(at, "cue-present", "cue-after"):
                return -1
            if line.cue_at(at, "cue-goal"):
                return 1
        return 0

    def _ground_by(self, grade: GradeWords, slots: dict[str, Slot]) -> None:
        """A surface left by a grade is a ground one, whatever it was ground on."""
        words = ("ground", "belt ground") if grade.words[:1] in "pP" else ("ground",)
        found = [senses for each in words if (senses := self.line.lexicon.find(each))]
        ids = tuple(dict.fromkeys(each for senses in found for each in senses.things if self.vocabulary.names[each].kind == "surface"))
        if ids:
            slots["surface"] = Slot(ids, grade.words)

    def _state_doubts(self, roles: Roles) -> list[Doubt]:
        line = self.line
        doubts = []
        for match in roles.undecided:
            words = line.words(match.first, match.last)
            text = f"“{words}” can be how the surface is now or how it should end. Write “it is {words} now” or “I want it {words}”."
            doubts.append(Doubt("finish", text, line.ids(match, "surface", "finish")))
        for match in roles.now:
            words = line.words(match.first, match.last)
            text = f"“{words}” was taken for the present state, and no surface goes by that word."
            doubts.append(Doubt("surface", text, line.ids(match, "finish")))
        return doubts

    def _torn(self) -> list[Doubt]:
        line, names = self.line, self.vocabulary.names
        doubts = []
        for match in line.matches:
            if match.torn:
                choices = match.senses.things
                listed = " or ".join(dict.fromkeys(names[each].label for each in choices)) or "more than one word"
                doubts.append(Doubt("spelling", f"“{line.words(match.first, match.last)}” could be {listed}. Write it out.", choices))
        return doubts

    def _unused(self, also: list[str]) -> tuple[str, ...]:
        line = self.line
        words = list(also)
        for index, token in enumerate(line.tokens):
            owner = line.owner[index]
            used = owner and (owner.senses.things or owner.senses.cues - {"cue-plain", "cue-object"})
            if not used and index not in line.grades and index not in line.measures and index not in line.described:
                words.append(line.text[token.start : token.end])
        return tuple(dict.fromkeys(words))[:_MOST_UNUSED]
