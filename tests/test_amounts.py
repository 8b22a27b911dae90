"""Minutes, removal and cracks in answers: worked out, checked, and told with what they were assumed for."""

import pytest

from finishing_kg.advice import Answer
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge

FLAT = "soda-lime float, flat face, ground with F220, pre-polish"


def ask(knowledge: Knowledge, text: str) -> Answer:
    """The answer to one question."""
    return Dialogue(knowledge).say(text)


def test_every_step_has_its_amounts(knowledge: Knowledge) -> None:
    """Each step of each route tells minutes, removal, cracks left and speed, and the route's minutes are their sum."""
    answer = ask(knowledge, FLAT)
    for route in answer.routes:
        assert route.minutes is not None
        for end in ("low", "mid", "high"):
            parts = [getattr(step.minutes, end) for step in route.steps]
            assert getattr(route.minutes, end) == pytest.approx(sum(parts), rel=0.002)
        for step in route.steps:
            assert step.removal_um is not None
            assert step.leaves.damage_um is not None
            assert step.surface_speed_m_s is not None
            assert step.minutes_unknown is None


def test_minutes_are_proved_down_to_their_sources(knowledge: Knowledge) -> None:
    """The proof of a step's minutes names each computation with its inputs, and ends in what the ontology holds or the maker said."""
    answer = ask(knowledge, FLAT)
    for step in answer.routes[0].steps:
        assert step.amounts_reason is not None
        functions, leaves, work, seen = set[str](), set[str](), [step.amounts_reason], set[str]()
        while work:
            rid = work.pop()
            if rid not in seen:
                seen.add(rid)
                node = answer.reasons[rid]
                if node.computed:
                    functions.add(node.computed.function)
                    assert node.from_, f"{node.statement} is computed from nothing that is told"
                if not node.from_:
                    leaves.add(node.basis.kind)
                work += node.from_
        assert {"minutes to remove", "mean pressure", "size band", "working speed", "greatest"} <= functions
        assert "from memory" in leaves


def test_what_is_not_known_stays_empty_and_says_why(knowledge: Knowledge) -> None:
    """Shaping and blasting have no minutes, nor has a route with them; each says why."""
    for text in ("broken rim of a lead crystal bowl, polish", "soda-lime float, flat face, fire-polished, fine blasted frost"):
        answer = ask(knowledge, text)
        assert answer.routes[0].minutes is None
        unknown = [step for step in answer.routes[0].steps if step.minutes is None]
        assert unknown
        assert all(step.minutes_unknown for step in unknown)
        assert all(step.if_stopped and "cannot be told" in step.if_stopped for step in unknown)
        assert "is not known" in str(answer.routes[0].minutes_unknown)
        known = [step.minutes.mid for step in answer.routes[0].steps if step.minutes]
        assert (answer.routes[0].minutes_known is None) == (not known)
        if answer.routes[0].minutes_known:
            assert answer.routes[0].minutes_known.mid == pytest.approx(sum(known), rel=0.002)


def test_of_shaping_the_minutes_of_a_millimetre_are_told(knowledge: Knowledge) -> None:
    """Where only the depth is not known the answer says how long each millimetre takes; of a blast, whose rate is not known, it does not."""
    shaping = ask(knowledge, "broken rim of a lead crystal bowl, polish").routes[0].steps[0]
    assert shaping.minutes is None and shaping.minutes_a_millimetre is not None
    assert "Each millimetre takes about" in str(shaping.minutes_unknown)
    assert ask(knowledge, "soda-lime float, flat face, fire-polished, fine blasted frost").routes[0].steps[0].minutes_a_millimetre is None


def test_a_time_is_not_said_to_be_kept_where_a_step_has_none(knowledge: Knowledge) -> None:
    """Where the minutes of a step are not known the answer says that nobody can tell, and what the others take."""
    told = ask(knowledge, "broken rim of a lead crystal bowl, polish, at most 40 minutes").text
    assert "cannot be told" in told and "rough shape" in told and "the other steps take about" in told
    missed = ask(knowledge, "broken rim of a lead crystal bowl, polish, at most 1 minute").text
    assert "keeps to 1 min" in missed and "is more already" in missed


def test_a_measure_of_the_piece_takes_the_place_of_the_assumption(knowledge: Knowledge) -> None:
    """Without a measure the answer says what it assumed and asks; an area or a diameter scales the minutes, and nothing is asked."""
    plain, area, disc = (ask(knowledge, FLAT + more) for more in ("", ", the face is 200 cm2", ", 20 cm across"))
    assert "nobody said" in str(plain.routes[0].minutes_for)
    assert [asked.about for asked in plain.routes[0].ask_back] == ["face_area"]
    for known in (area, disc):
        assert not known.routes[0].ask_back
        assert "nobody said" not in str(known.routes[0].minutes_for)
    assert "200 cm²" in str(area.routes[0].minutes_for)
    assert "314.2 cm²" in str(disc.routes[0].minutes_for)
    least = [min(route.minutes.mid for route in answer.routes if route.minutes) for answer in (plain, area, disc)]
    assert least == sorted(least)
    assert least[0] < least[1]


def test_stopping_early_is_told(knowledge: Knowledge) -> None:
    """A step that has deeper cracks to clear says how deep they still reach halfway: between those found and its own."""
    steps = ask(knowledge, FLAT).routes[0].steps
    assert all(step.if_stopped and "minutes cracks still reach about" in step.if_stopped for step in steps)


@pytest.mark.parametrize(
    ("words", "restriction"),
    [
        ("by hand only", "has by hand"),
        ("at most 40 minutes", "at most 40 min"),
        ("no more than 2 hours", "at most 2 h"),
        ("as little dust as possible", "little dust"),
    ],
)
def test_restrictions_are_read(knowledge: Knowledge, words: str, restriction: str) -> None:
    """What a maker asks of the way is understood, becomes a fact, and no word of it is left over."""
    answer = ask(knowledge, f"{FLAT}, {words}")
    assert restriction in answer.understood.restrictions
    assert not {word for word in words.split() if word not in ("as", "possible")} & set(answer.understood.unused_words)


def test_how_long_something_was_done_is_no_limit(knowledge: Knowledge) -> None:
    """A time without a word of limiting is left alone."""
    answer = ask(knowledge, f"{FLAT}. I polished another one for 40 minutes")
    assert "longest time" not in answer.understood.measures


def test_a_time_that_no_way_keeps_is_told_with_what_it_misses_by(knowledge: Knowledge) -> None:
    """Where even the quickest is too slow the text says so and by how much; where one keeps to it, that one comes first."""
    plain = ask(knowledge, FLAT)
    missed = ask(knowledge, f"{FLAT}, at most 1 minute")
    assert "None of these ways keeps to 1 min" in missed.text
    kept = ask(knowledge, f"{FLAT}, at most 5 minutes")
    assert "None of these" not in kept.text
    assert kept.routes[0].minutes is not None
    assert plain.routes[0].minutes is not None
    assert kept.routes[0].minutes.mid <= 5 < plain.routes[0].minutes.mid


def test_each_route_is_named_and_says_what_decided(knowledge: Knowledge) -> None:
    """Names are unique, and every further route says what it is better in and why it is not the first."""
    answer = ask(knowledge, FLAT)
    names = [route.name for route in answer.routes]
    assert len(names) == len(set(names)) > 2
    assert all("The first comes before it because" in route.chosen_because for route in answer.routes[1:])
