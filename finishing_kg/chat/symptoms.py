"""What a turn complains of: *orange peel after felt*, *a deep scratch shows up at polish*.

A fault's own words are a complaint by themselves. Words that also name a surface (*scratched*, *chipped*) or a wish
(*rounded edges*) count only beside a word of complaint, or where they follow a tool, so that a plain question about a
scratched face stays one.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from finishing_kg.chat.governing import governing
from finishing_kg.chat.kept import kept
from finishing_kg.chat.lexicon import Lexicon, Match, Senses
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, Doubt, Intent
from finishing_kg.chat.tools import tool_matches
from finishing_kg.chat.weighed import doubt_of_fault, unsure_fault
from finishing_kg.chat.words import tokens
from finishing_kg.compiled import shaped
from finishing_kg.record import field, record

_GRIEVANCE, _SURE, _FLAWS, _AT_HAND, _WEAK = "grievance", "sure-grievance", "flaw-words", "bench-words", "complaint-"
_LONGEST, _LONGEST_PASSED = 8, 10
# A slip is repaired only in words this long together, and only in a short turn that names no fault as it stands.
_SHORTEST_SLIP, _SHORT_TURN = 8, 40
_BENCH_REACH = 6
_WISHED_WITHIN, _SO_WITHIN, _SO = 8, 3, "so"
_MEANWHILE_WITHIN = 3  # words between *while* and the work that went on
# Cues that end a complaint: what stands beyond them is denied, wished for or lacking.
_ENDS = ("cue-not", "cue-without", "cue-gone", "cue-goal", "cue-or", "cue-instead")
_WORKS = ("mineral", "carrier", "machine")
_USED = ("cue-after", "cue-place", "cue-means")


class _Words(NamedTuple):
    """The words of complaint of one vocabulary, with their spaces taken out."""

    strong: dict[str, str]
    weak: dict[str, str]
    grievances: frozenset[str]
    sure: frozenset[str]
    flaws: frozenset[str]
    at_hand: frozenset[str]


class _Hit(NamedTuple):
    first: int
    last: int
    fault: str
    weak: bool
    repaired: bool = False


@record()
class Symptoms:
    """What is complained of: ids of faults in the order said, the tokens that say it, and the words of a complaint that names no fault known here."""

    faults: list[str] = field(default_factory=list)
    tokens: set[int] = field(default_factory=set)
    unnamed: str = ""
    unsure: list[Doubt] = field(default_factory=list)

    @property
    def doubts(self) -> list[Doubt]:
        """The question what is seen, where somebody complains and no fault was recognised."""
        if self.unsure or not self.unnamed:
            return self.unsure
        return [Doubt("faults", f"“{self.unnamed}” sounds like something that went wrong. What do you see, and after which step?")]

    def tools(self, line: Line) -> tuple[list[Match], list[str]]:
        """The tools that are at hand or missing, and the ids of those that the piece was last worked with.

        The tools that made the present surface are taken as the last ones only where no others are named.
        """
        named = tool_matches(line, set())
        used = [match for match in named if not (_at_the_bench(line, match) or _to_come(line, match))]
        described = [match for match in line.matches if match.first in line.described and line.ids(match, *TOOLS)]
        said = {match.first: line.ids(match, *_WORKS) for match in used or described} | _worked_after(line)
        last = [each for first in sorted(said) for each in said[first]]
        return [match for match in named if match not in used], list(dict.fromkeys(last))


def symptoms_of(line: Line, asked: Intent | None) -> Symptoms:
    """The complaints of a turn; none where it only supposes something or asks after a tool."""
    found = Symptoms()
    if asked in ("what_if", "compare"):
        return found
    words = _words_of(line.lexicon)
    keys = [line.lexicon.key(token) for token in line.tokens]
    runs = list(_runs(line, keys))
    grieved = [(first, last) for first, last, joined in runs if joined in words.grievances or joined in words.sure]
    surely = any(joined in words.sure for _, _, joined in runs)
    kept: list[_Hit] = []
    for hit in _longest(_hits(line, keys, words, runs, grieved)):
        if line.negated(Match(hit.first, hit.last, Senses())) and not any(last == hit.first or last == hit.first - 1 for _, last in grieved):
            continue
        lacking = any(line.cue_at(index, "cue-without") and not line.tokens[index + 1].gap for index, _ in line.before(hit.first, 2))
        if lacking or hit.first in line.aside or _is_asked_for(line, hit):
            continue
        if _covered(line, hit):
            continue
        seen = hit.weak and not _complained(line, hit, grieved)
        if seen and not _is_only_told(line, hit, asked):
            continue
        if seen or unsure_fault(line, hit.first, hit.last, weak=hit.weak, repaired=hit.repaired, grieved=bool(grieved), surely=surely):
            found.unnamed = line.words(hit.first, hit.last)
            found.unsure.append(doubt_of_fault(line, found.unnamed, hit.fault))
            found.tokens.update(range(hit.first, hit.last))
            continue
        # What is said of a tool goes on being said of it: *the belt loads up and has stopped cutting*.
        said = "".join(keys[hit.first : hit.last])
        earlier = [each for each in kept if line.sentence(each.first) == line.sentence(hit.first)]
        same = [each.fault for each in earlier if words.strong.get(keys[each.first] + said) == each.fault]
        found.faults += [fault for fault in same or [hit.fault] if fault not in found.faults]
        kept.append(hit)
    within = {index for hit in kept for index in range(hit.first, hit.last)}
    placed = any(line.ids(match, "form") and match.first not in within for match in line.matches)
    for hit in kept:
        found.tokens.update(_said_by(line, hit, placed))
    if not kept and not found.unsure and asked in (None, "diagnose"):
        _unnamed(line, runs, words, found)
    if found.faults:
        found.tokens.update(index for first, last in grieved for index in range(first, last) if line.owner[index] is None)
    return found


def _is_only_told(line: Line, hit: _Hit, asked: Intent | None) -> bool:
    """Whether what may be a complaint stands where nothing is wished or asked, and is no surface by name: *the base does have swirl marks*."""
    wished = line.any_cue("cue-wish", "cue-ask-plan", "cue-plan", "cue-remove") or line.between(0, len(line.tokens), line.is_goal)
    if asked is not None or wished or any(line.asks(last) for _, last in set(line.sentences)):
        return False
    owners = [owner for owner in line.owner[hit.first : hit.last] if owner is not None]
    return bool(owners) and not any(line.ids(owner, "surface", own=True) or owner.is_cue("cue-correction") for owner in owners)


def _unnamed(line: Line, every: list[tuple[int, int, str]], words: _Words, found: Symptoms) -> None:
    """A complaint in words that no fault goes by: what is seen there is not taken for the surface that the work begins with."""
    runs = [(first, last, joined in words.sure) for first, last, joined in every if joined in words.sure or joined in words.flaws]
    if not runs:
        return
    wished = line.any_cue("cue-wish", "cue-ask-plan", "cue-plan") or line.between(0, len(line.tokens), line.is_goal)
    sure = next(((first, last) for first, last, surely in runs if surely or not wished), None)
    if sure is None:
        return
    start, end = line.sentence(sure[0])
    found.unnamed = line.words(*sure)
    seen = [match for match in line.matches if start <= match.first < end and line.ids(match, "surface") and not line.ids(match, "finish")]
    seen += [match for match in line.matches if match.first <= sure[0] < match.last]  # "fine lines" are no engraving then
    found.tokens.update(index for match in seen for index in range(match.first, match.last))


def _worked_after(line: Line) -> dict[int, tuple[str, ...]]:
    """Tools within a longer word for a surface, such as *after pumice*: by their tokens the things that they are."""
    found = {}
    for match in line.matches:
        past = line.lexicon.find(line.words(match.first, match.first + 1))
        if match.last - match.first < 2 or line.ids(match, *TOOLS) or past is None or "cue-after" not in past.cues:
            continue
        for index in range(match.first + 1, match.last):
            senses = line.lexicon.find(line.words(index, index + 1))
            ids = tuple(each for each in senses.own if line.lexicon.vocabulary.names[each].kind in _WORKS) if senses else ()
            if ids:
                found[index] = ids
    return found


def _hits(line: Line, keys: list[str], words: _Words, runs: list[tuple[int, int, str]], grieved: list[tuple[int, int]]) -> Iterator[_Hit]:
    """Every run of words that names a fault, with a slip in it only where nothing is named as it stands."""
    exact = False
    passed = _passed(line, grieved)
    for first, last, joined in (*runs, *_runs(line, keys, passed)):
        fault = words.weak.get(joined) or words.strong.get(joined)
        if fault:
            exact = True
            yield _Hit(first, last, fault, weak=joined in words.weak)
    if exact or len(keys) > _SHORT_TURN:
        return
    every = {**words.strong, **words.weak}
    for first, last, joined in runs:
        unknown = joined.isalpha() and any(owner is None for owner in line.owner[first:last])
        if unknown and last - first in (2, 3) and len(joined) >= _SHORTEST_SLIP:
            from rapidfuzz import process
            from rapidfuzz.distance import OSA

            near = process.extractOne(joined, every.keys(), scorer=OSA.distance, score_cutoff=1)
            if near:
                yield _Hit(first, last, every[near[0]], weak=near[0] in words.weak, repaired=True)


def _passed(line: Line, grieved: list[tuple[int, int]]) -> set[int]:
    """The tokens that may stand within a complaint: *the frost came out patchy*; a *no* or a wish ends it."""
    complaining = {index for first, last in grieved for index in range(first, last)}
    plain = {index for index, owner in enumerate(line.owner) if owner and owner.senses.cues and not owner.senses.things and not owner.is_cue(*_ENDS)}
    return complaining | plain


def _runs(line: Line, keys: list[str], passed: set[int] = frozenset()) -> Iterator[tuple[int, int, str]]:  # type: ignore[assignment]
    """Every run of tokens without a break in it, with its words run together, those of ``passed`` left out but at its ends."""
    for first in range(len(keys)):
        if first in passed:
            continue
        joined, held = "", 0
        for last in range(first + 1, min(first + (_LONGEST_PASSED if passed else _LONGEST), len(keys)) + 1):
            if last - first > 1 and line.tokens[last - 1].gap:
                break
            if last - 1 in passed:
                continue
            joined, held = joined + keys[last - 1], held + 1
            if not passed or 1 < held < last - first:
                yield first, last, joined


def _longest(hits: Iterator[_Hit]) -> list[_Hit]:
    taken: set[int] = set()
    kept = []
    for hit in sorted(hits, key=lambda hit: (hit.first - hit.last, hit.first)):
        if taken.isdisjoint(range(hit.first, hit.last)):
            taken.update(range(hit.first, hit.last))
            kept.append(hit)
    return sorted(kept, key=lambda hit: hit.first)


def _covered(line: Line, hit: _Hit) -> bool:
    """Whether the words belong to a longer name of something else: the *crack* of *cracked-off rim*, *grind scratches*."""
    owners = [owner for owner in line.owner[hit.first : hit.last] if owner is not None and owner.senses.things]
    beyond = any(line.ids(owner, "surface") and owner.last > hit.last for owner in owners)  # "glass, cracked off"
    owners += [owner for owner in line.owner[hit.first : hit.last] if owner is not None and owner.is_cue("cue-plain")]  # "crack on"
    return beyond or any(owner.last - owner.first > hit.last - hit.first for owner in owners)


def _is_asked_for(line: Line, hit: _Hit) -> bool:
    """Whether the words tell of a place that is wished for: *she asks for an edge which does not cut*."""
    start, _ = line.sentence(hit.first)
    if _is_wished(line, hit, start):
        return True
    places = [index for index, _ in line.before(hit.first, 3) if (owner := line.owner[index]) and line.ids(owner, "form")]
    return bool(places) and any(line.cue_at(at, "cue-wish") for at, _ in line.before(places[-1], 4) if at >= start)


def _is_wished(line: Line, hit: _Hit, start: int) -> bool:
    """Whether the words tell what is wished for or is to be avoided: *I'd like the edges rounded*; *so that it doesn't cut*."""
    for at in range(hit.first - 1, max(start, hit.first - _WISHED_WITHIN) - 1, -1):
        if line.tokens[at + 1].gap or line.cue_at(at, "cue-but", "cue-remove", "cue-why", "cue-not", "cue-question"):
            return False
        if line.tokens[at].key == _SO and hit.first - at <= _SO_WITHIN:
            return True
        if line.cue_at(at, "cue-wish") or line.tokens[at].key == "id":
            gone = hit.last < len(line.tokens) and line.cue_at(hit.last, "cue-gone", "cue-remove-after")
            return not gone and hit.first - at > 1
    return False


def meanwhile(line: Line, faults: list[str]) -> set[int]:
    """The words of a complaint for the work that went on when it showed, which are no goal: *chips come out when I grind it*.

    Where no fault takes the piece back, that work is still the goal: *the belt clogs when I take stock off*.
    """
    found: set[int] = set()
    if faults and not any(line.lexicon.vocabulary.related(fault, "takesBackTo") for fault in faults):
        return found
    for match in line.matches:
        if match.is_cue("cue-meanwhile"):
            near = [at for at, _ in line.after(match.last, _MEANWHILE_WITHIN) if (owner := line.owner[at]) and line.ids(owner, "finish")]
            found.update(near[:1])
    return found


def _complained(line: Line, hit: _Hit, grieved: list[tuple[int, int]]) -> bool:
    """Whether a word of complaint, or a tool that it came after, stands in the same sentence."""
    start, end = line.sentence(hit.first)
    if any(start <= first < end and (last <= hit.first or first >= hit.last) for first, last in grieved):
        return True
    used = (match for match in line.matches if hit.last <= match.first < end and line.ids(match, *TOOLS))
    return any(line.cue_between(max(match.first - 2, hit.last), match.first, "cue-after") for match in used)


def _said_by(line: Line, hit: _Hit, placed: bool) -> Iterator[int]:
    """The tokens that a complaint uses up.

    A place named in it stays readable where the fault is seen there, or has no place of its own and no other is named.
    """
    usual = set(line.lexicon.vocabulary.related(hit.fault, "isSeenOn"))
    for index in range(hit.first, hit.last):
        owner = line.owner[index]
        forms = set(line.ids(owner, "form")) if owner else set()
        if not forms or (placed if not usual else not forms & usual):
            yield index


def _at_the_bench(line: Line, match: Match) -> bool:
    """Whether the words before a tool say that the maker has or lacks it, and none nearer that it was used."""
    at_hand = _words_of(line.lexicon).at_hand
    keys = [line.lexicon.key(token) for token in line.tokens[: match.first]]
    for index, _ in line.before(match.first, _BENCH_REACH):
        if any("".join(keys[first : index + 1]) in at_hand for first in range(max(0, index - 3), index + 1)):
            return True
        if line.cue_at(index, *_USED):
            return False
    return False


def _to_come(line: Line, match: Match) -> bool:
    """Whether a tool is of a plan that is told beside the complaint: *I'd follow with a cork belt, though there are waves*."""
    first, _ = line.sentence(match.first)
    return governing(line, match) == "planned" and line.cue_between(first, match.first, "cue-plan", "cue-ask-plan")


def _words_of(lexicon: Lexicon) -> _Words:
    """The words of complaint of a lexicon's vocabulary."""

    def from_plain(plain: object) -> _Words:
        return _Words(*shaped(plain, dict, dict, frozenset, frozenset, frozenset, frozenset))

    return kept(lexicon.vocabulary, "complaints", lambda: _build(lexicon), tuple, from_plain)


def _build(lexicon: Lexicon) -> _Words:
    little = lexicon.vocabulary.names.get("cue-stop")
    plain_words = {lexicon.key(token) for label in (little.alternatives if little else ()) for token in tokens(label)[:1] if len(tokens(label)) == 1}

    def joined(label: str) -> str:
        return "".join(lexicon.key(token) for token in tokens(label))

    def reduced(label: str) -> str:
        """The label without the little words within it, as a turn is read that puts others between; empty if it ends in one."""
        keys = [lexicon.key(token) for token in tokens(label)]
        kept = [key for key in keys if key not in plain_words]
        return "".join(kept) if len(kept) > 1 and kept[-1] == keys[-1] and kept[0] == keys[0] else ""

    vocabulary = lexicon.vocabulary
    strong: dict[str, str] = {}
    for spelt in (reduced, joined):
        strong.update(
            {words: fault.id for fault in vocabulary.things("fault") for label in (fault.label, *fault.alternatives) if (words := spelt(label))}
        )
    weak: dict[str, str] = {}
    plain: dict[str, set[str]] = {_GRIEVANCE: set(), _SURE: set(), _FLAWS: set(), _AT_HAND: set()}
    for complaint in vocabulary.things("complaint"):
        fault = complaint.id.removeprefix(_WEAK)
        for label in complaint.alternatives:
            if complaint.id in plain:
                plain[complaint.id].add(joined(label))
            elif fault in vocabulary.names:
                weak[joined(label)] = fault
    return _Words(strong, weak, frozenset(plain[_GRIEVANCE]), frozenset(plain[_SURE]), frozenset(plain[_FLAWS]), frozenset(plain[_AT_HAND]))
