"""Free text of one turn to a ``Reading``: the only door to this room's reading half."""

from __future__ import annotations

from itertools import pairwise

from finishing_kg.chat.aside import asides_of, outside_asides
from finishing_kg.chat.bench import hands_alone, unread
from finishing_kg.chat.competing import leave_open, refused_later
from finishing_kg.chat.course import follow_the_course
from finishing_kg.chat.intents import Asked, ask_of, intent_of, level_of, same_of, step_of
from finishing_kg.chat.lexicon import Match, lexicon_of
from finishing_kg.chat.line import Line
from finishing_kg.chat.measured import measures_of
from finishing_kg.chat.reading import CUT_SHORT, SLOTS, Doubt, Reading, Slot
from finishing_kg.chat.roles import Roles, decide, role_score
from finishing_kg.chat.saying_back import is_a_story
from finishing_kg.chat.scope import OTHER_MATERIAL, outside_of
from finishing_kg.chat.several import announced, bodies_of, cuts_of, further, of_all, other_piece, own_body
from finishing_kg.chat.slots import DEGREES, end_of_a_body, on_two_sides, resolve
from finishing_kg.chat.sort_grades import left_by_tools, made_on, sort_grades
from finishing_kg.chat.symptoms import meanwhile, symptoms_of
from finishing_kg.chat.tools import Tools, sort_tools, tool_matches
from finishing_kg.chat.water import water_of
from finishing_kg.chat.weighed import unsure_words
from finishing_kg.chat.words import LONGEST, clean
from finishing_kg.record import record, replace
from finishing_kg.vocabulary import Name, Vocabulary

_MOST_UNUSED = 40
# Words with these roles alone are told as not used.
_SAYS_NOTHING = {"cue-plain", "cue-object", "cue-others", "cue-end", "cue-agree", OTHER_MATERIAL}


def read(vocabulary: Vocabulary, text: str, waiting_for: tuple[str, ...] = (), begins: bool = False) -> Reading:
    """Read one turn.

    Args:
        vocabulary: the ontology; its words are indexed at the first call.
        text: whatever was typed or pasted; never an error, at most ``LONGEST`` characters are read.
        waiting_for: slots that the last answer asked for: a bare answer is taken for one of them.
        begins: nothing was answered yet: the words of a question also tell what the piece is.

    Returns:
        What the turn says by itself. What is not certain is a doubt, not a value.
    """
    cleaned, cut = clean(text)
    line = Line.of(cleaned, lexicon_of(vocabulary))
    line.aside |= asides_of(line)
    reading = _Reader(vocabulary, line, waiting_for, begins).reading()
    if not cut:
        return reading
    doubt = Doubt(CUT_SHORT, f"The text is long; only its first {LONGEST} characters were read.")
    return replace(reading, doubts=(*reading.doubts, doubt))


@record()
class _Reader:
    """The steps of one reading, in the order in which they need each other."""

    vocabulary: Vocabulary
    line: Line
    waiting_for: tuple[str, ...]
    begins: bool = False

    def reading(self) -> Reading:
        line = self.line
        asked = ask_of(line, self.begins)
        symptoms = symptoms_of(line, asked.intent)
        if symptoms.faults:
            asked = Asked("diagnose", symptoms.tokens)
        complained = bool(symptoms.faults or symptoms.unnamed)
        roles = decide(line, asked.tokens | symptoms.tokens | (meanwhile(line, symptoms.faults) if complained else set()), self.waiting_for)
        slots, doubts = self._slots(asked, roles)
        grades = sort_grades(line, roles, slots, self.waiting_for)
        if not symptoms.faults:
            follow_the_course(line, roles, slots, grades)
        self._fill_finish(roles, slots)
        doubts += leave_open(line, roles, slots, grades, [match for match in self._places() if self._describes(match, "form", asked.tokens)])
        told_after = "last_worked_with" in self.waiting_for and not slots and asked.intent is None
        doubts += unsure_words(line, roles, slots, complained, self.waiting_for)
        named, after = symptoms.tools(line) if complained or told_after else (tool_matches(line, asked.tokens), [])
        tools = sort_tools(line, named, bool(slots) and asked.intent is None)
        hands_alone(line, tools)
        tools.doubts += unread(line)
        measured = measures_of(line)
        if complained:
            measured.piece.pop("atMostMinutes", None)  # "within a minute" tells when it showed
        wet, wet_doubts = water_of(line)
        outside, outside_doubts = outside_of(line, slots)
        intent = intent_of(line, asked, slots, tools, outside)
        bodies = bodies_of(line)
        about = asked.about or ([*tools.planned, *tools.mentioned] if intent == "why_not" else [])
        planned = [each for each in tools.planned if not self._is_its_way(each, tools.planned, slots)] + _at_hand_for_it(line, tools, wet is False)
        if not planned and measured.tool.keys() == {"wheelDiameter"}:
            measured.unused.append(str(measured.tool.pop("wheelDiameter")))  # how large a wheel at hand is, plans nothing
        unplaced = tuple(dict.fromkeys([*tools.passed_over, *tools.of_the_past]))
        return Reading(
            intent=intent,
            slots=slots,
            surface_grade=grades.surface,
            goal_grade=grades.goal,
            grades=tuple(grades.others),
            restrictions=tuple(tools.restrictions),
            about=self._names(about),
            planned=self._names(planned),
            mentioned=self._names([each for each in tools.mentioned if not self._is_its_way(each, tools.mentioned, slots)]),
            faults=self._names(symptoms.faults),
            after=self._names(after),
            measures=measured.piece,
            planned_grade=grades.planned,
            planned_wet=wet,
            planned_measures=measured.tool,
            outside=outside,
            again=line.any_cue("cue-again"),
            step=step_of(line),
            level=level_of(line),
            dont_know=line.any_cue("cue-unsure"),
            same=same_of(line),
            wished=tuple(tools.wished),
            unused=self._unused([*measured.unused, *(words.words for words in grades.others), *tools.passed_over], symptoms.tokens),
            doubts=(
                *doubts,
                *outside_doubts,
                *self._state_doubts(roles),
                *grades.doubts,
                *tools.doubts,
                *symptoms.doubts,
                *wet_doubts,
                *self._torn(),
                *measured.doubts,
            ),
            unplaced=unplaced,
            is_story=is_a_story(line, unplaced),
            cuts=cuts_of(line, bodies),
            announced=announced(line),
            bodies=bodies,
            of_all=of_all(line, slots),
            own_body=own_body(line),
            other_piece=other_piece(line),
            corrects=line.any_cue("cue-correction", "cue-not"),
            goes_on=bool(line.tokens) and line.cue_at(0, "cue-then"),
            further=further(line),
        )

    def _is_its_way(self, planned: str, every: list[str], slots: dict[str, Slot]) -> bool:
        """Whether a tool is told by its work alone, which is the one way to the finish: *an even frost, by blasting*."""
        ways = [
            name.id
            for name in self.vocabulary.things("carrier")
            if "finish" in slots and set(slots["finish"].ids) & set(self.vocabulary.related(name.id, "serves"))
        ]
        told = (match for match in self.line.matches if planned in match.senses.things)
        return every == [planned] == ways and all(map(self.line.is_doing, told))

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
                said = [match for match in said if not self._only_near(match)] or said
                said = self._not_measured(said)
                said = outside_asides(line, said, _first)
            slot, unsure = resolve(line, kind, said)
            doubts += unsure
            if slot:
                slots[kind] = made_on(line, slot, roles.surfaces) if kind == "surface" else slot
        if "make" in slots and "glass" in slots and self._is_general(slots["make"], slots["glass"]):
            del slots["make"]
        end = end_of_a_body(line) if not self._places() and not doubts else None
        if end:
            slots["form"] = end
        coloured = "surface" in slots and all(match.is_cue("cue-weak") for match in self._present(roles))
        left = left_by_tools(line, asked.tokens) if coloured or "surface" not in slots else None
        if left:
            slots["surface"] = left
        return slots, doubts

    def _is_general(self, make: Slot, glass: Slot) -> bool:
        """Whether a make is told by a general noun only, such as *pane*, of a glass whose own name does not go with it."""
        senses, words = self.line.lexicon.find(make.words), self.vocabulary.names
        weak = senses is not None and "cue-weak" in senses.cues
        alike = any(set(words[one].label.split()) & set(words[other].label.replace("-", " ").split()) for one in make.ids for other in glass.ids)
        return weak and not alike

    def _present(self, roles: Roles) -> list[Match]:
        """Surfaces in order; what was ground with a named grade has left behind what was there before."""
        graded = [number for number, match in enumerate(roles.surfaces) if match.first in roles.graded]
        if not graded or any(on_two_sides(self.line, one, other) for one, other in pairwise(roles.surfaces)):
            return roles.surfaces
        return roles.surfaces[graded[-1] :]

    def _describes(self, match: Match, kind: str, skipped: set[int]) -> bool:
        line = self.line
        if match.torn or match.first in skipped or match.first in line.described or not line.ids(match, kind) or refused_later(line, match):
            return False
        return not line.negated(match) and not (kind == "form" and (self._begins_a_measure(match) or self._is_sound(match)))

    def _is_sound(self, match: Match) -> bool:
        """Whether a place is said to need nothing: *the hole is fine*; *nothing wrong with the bevel*; *leave the rim alone*."""
        if any(self.line.cue_at(index, "cue-untouched") for index, _ in self.line.before(match.first, 1)):
            return True
        after = match.last
        return after < len(self.line.tokens) and not self.line.tokens[after].gap and self.line.cue_at(after, "cue-sound")

    def _begins_a_measure(self, match: Match) -> bool:
        """Whether a word such as *outside* only tells which diameter is meant."""
        line = self.line
        after = line.owner[match.last] if match.last < len(line.tokens) and not line.tokens[match.last].gap else None
        measuring = after is not None and not after.senses.things and any(cue.startswith("measure-") for cue in after.senses.cues)
        before = line.owner[match.first - 1] if match.first else None
        sized = before is not None and not before.senses.things and any(cue.startswith("measure-") for cue in before.senses.cues)
        # "1 1/2 inch outside"; "1.5 in diameter outside"
        measured = (sized or match.first - 1 in line.measures) and not line.tokens[match.first].gap
        return (measuring or measured) and match.is_cue("cue-weak")

    def _fill_finish(self, roles: Roles, slots: dict[str, Slot]) -> None:
        """Once a grade has told the surface, the one word that could be either is the goal: *F800 all over, satin*."""
        if "surface" in slots and "finish" not in slots and len(roles.undecided) == 1:
            slot, _ = resolve(self.line, "finish", roles.undecided)
            if slot:
                slots["finish"] = slot
                roles.undecided.clear()

    def _only_near(self, match: Match) -> bool:
        """Whether a place only helps to find the work: *scratches near the foot*."""
        return any(self.line.cue_at(index, "cue-near") for index, _ in self.line.before(match.first, 2)) or match.is_cue("cue-extent")

    def _not_measured(self, said: list[Match]) -> list[Match]:
        """Without the places that only tell what a measure is of, unless the others may be the same: *bore 12 mm, want the inside fine ground*."""
        kept = [match for match in said if not self._is_measured(match)]
        hollow = [
            match for match in said if match not in kept and all(self.vocabulary.holds(each, "isHollow") for each in self.line.ids(match, "form"))
        ]
        inside = kept and all(
            match.is_cue("cue-weak") and all(self.vocabulary.holds(each, "isHollow") for each in self.line.ids(match, "form")) for match in kept
        )
        return hollow if hollow and inside else kept or said

    def _is_measured(self, match: Match) -> bool:
        """Whether a place only tells what a measure is of: *bore 6 mm*; *8 mm in the bore*."""
        line = self.line
        if not line.ids(match, "form"):
            return False
        before = match.first - 1
        ahead = (
            before > 0
            and line.cue_at(before, "cue-place", "cue-of")
            and (owner := line.owner[before]) is not None
            and owner.first - 1 in line.measures
        )
        return ahead or (match.last in line.measures and not line.tokens[match.last].gap)

    def _places(self) -> list[Match]:
        """The places named that are more than the shape of a body, or what is measured of it."""
        forms = [match for match in self.line.matches if self.line.ids(match, "form") and not match.torn and not self.line.negated(match)]
        return [match for match in forms if not match.is_cue("cue-shaped") and not self._is_measured(match)]

    def _wanted(self, roles: Roles) -> list[Match]:
        """Goals in order; one that is asked for outright comes last, so that it wins."""
        scored: list[tuple[Match, int]] = []
        for match in roles.goals:
            score = role_score(self.line, match)
            # "I'd like to grind it and then polish": what is asked for goes on after "then".
            before = scored[-1] if scored else None
            if before and score == 0 and self.line.cue_between(before[0].last, match.first, "cue-then"):
                score = before[1]
            if before and self.line.taken_back(before[0].last, match.first):
                score = max(score, before[1], 0)
            scored.append((match, score))
        scored = self._of_two_blasts(scored)
        if not any(score > 0 for _, score in scored):
            return [match for match, _ in scored]
        return [match for match, score in scored if score <= 0] + [match for match, score in scored if score > 0]

    def _of_two_blasts(self, scored: list[tuple[Match, int]]) -> list[tuple[Match, int]]:
        """Of a plain word for a blast and one that says which, the second is meant: *looking to frost it, coarse blast*."""
        line, vocabulary = self.line, self.vocabulary
        kinds = [[vocabulary.names[each].label.split() for each in line.ids(match, "finish")] for match, _ in scored]
        alike = {" ".join(word for word in label if word not in DEGREES) for labels in kinds for label in labels}
        telling = [pair for pair in scored if pair[0].last - pair[0].first > 1]
        blasts = all(vocabulary.holds(each, "isABlast") for match, _ in scored for each in line.ids(match, "finish"))
        return telling if len(telling) == 1 and len(alike) == 1 and blasts else scored

    def _state_doubts(self, roles: Roles) -> list[Doubt]:
        line = self.line
        doubts = []
        for match in roles.undecided:
            words = line.words(match.first, match.last)
            text = f"“{words}” can be how the surface is now or how it should end. Write “it is {words} now” or “I want it {words}”."
            doubts.append(Doubt("finish", text, line.ids(match, "surface", "finish")))
        for match in roles.wanted:
            words = line.words(match.first, match.last)
            text = f"“{words}” sounds like what is wanted, and no finish of cold working goes by that word. How should it end?"
            doubts.append(Doubt("finish", text))
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

    def _unused(self, also: list[str], complaint: set[int]) -> tuple[str, ...]:
        line = self.line
        words = list(also)
        told = complaint | line.grades.keys() | line.measures.keys() | line.described | line.planned
        for index, token in enumerate(line.tokens):
            owner = line.owner[index]
            used = owner and (owner.senses.things or owner.senses.cues - _SAYS_NOTHING)
            if not used and index not in told:
                words.append(line.text[token.start : token.end])
        return tuple(dict.fromkeys(words))[:_MOST_UNUSED]


def _first(match: Match) -> int:
    return match.first


def _at_hand_for_it(line: Line, tools: Tools, told: bool) -> list[str]:
    """The carriers at hand that a way of working is told for: *I want to grind it dry on a belt*; none where a tool is planned, or no way is told."""
    names = line.lexicon.vocabulary.names
    if not told or any(names[each].kind == "carrier" for each in (*tools.planned, *tools.mentioned)):
        return []
    near = [each for restriction in tools.restrictions if restriction.kind in ("has", "only") for each in restriction.ids]
    return [each for each in dict.fromkeys(near) if names[each].kind == "carrier" and each not in tools.planned]
