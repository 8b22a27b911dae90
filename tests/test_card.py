"""Route cards: what stands on them, that text from anywhere stays text, and that a printed one keeps to one sheet."""

import io
import re
import sys
import unicodedata
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import browser
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from pypdf import PdfReader

from finishing_kg.advice import Answer
from finishing_kg.advice.contract import Range
from finishing_kg.card import FORMATS, Card, NoRoute, card_of, format_of, written
from finishing_kg.card.ladder import HEIGHT, WIDTH, Bar, Diamond, Line, Word, ladder
from finishing_kg.card.model import CardStep, Labelled, Rung
from finishing_kg.chat import Dialogue
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace

pytestmark = pytest.mark.usefixtures("shipped_once")

QUESTION = "Sawn lead crystal block, flat face, to polish"
LONG = "cut grooves in lead crystal, sawn, to a polish"
CSS = (Path(__file__).parent.parent / "finishing_kg" / "card" / "page.css").read_text(encoding="utf-8")
VOID = {"meta", "input", "line", "rect", "polygon"}
HOSTILE = (
    "<script>alert(1)</script>",
    "</style>",
    '" onload="x',
    "&lt;b&gt;",
    "|",
    "\n| a |",
    "[x](http://x.test)",
    "![](x)",
    "`",
    "***",
    "\x1b[2J",
    "\u202e",
    "\u2066",
)
TEXTS = st.lists(st.sampled_from(HOSTILE) | st.text(max_size=8), max_size=5).map("".join)


@pytest.fixture(scope="module")
def answer(knowledge: Knowledge) -> Answer:
    """An answer with a route of several steps, and all its reasons."""
    return Dialogue(knowledge, whole=True).say(QUESTION)


@pytest.fixture(scope="module")
def card(knowledge: Knowledge, answer: Answer) -> Card:
    """The card of that answer."""
    return card_of(answer, knowledge.vocabulary)


@pytest.fixture(scope="module")
def six(knowledge: Knowledge) -> Card:
    """A card of six steps: one of the longest routes, with its first step once more at the end."""
    made = Dialogue(knowledge, whole=True).say(LONG)
    first = made.routes[0]
    longer = replace(first, steps=[*first.steps, *first.steps][:6])
    return card_of(replace(made, routes=[longer, *made.routes[1:]]), knowledge.vocabulary)


class Parsed(HTMLParser):
    """The elements, attributes and texts of a page; fails at one that is closed out of turn."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.told = ""
        self._open: list[str] = []
        self.feed(text)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.elements.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] != "style":
            self.told += data


def saying(text: str) -> Card:
    """A card that says the same text in every place."""
    note = Labelled(label=text, text=text, basis=text)
    step = CardStep(number=1, name=text, purpose=text, facts=[note, Labelled(label="Grade", text=text)], advice=[note], checks=[text, text])
    rung = Rung(number=1, name=text, grain=Range(low=1, mid=2, high=3), left=Range(mid=2), cracks=Range(mid=9))
    lists: dict[str, Any] = {key: [text] for key in ("understood", "unused", "open")}
    notes: dict[str, Any] = {key: [note] for key in ("supposed", "cautions", "hints", "others", "reasons", "values")}
    return Card(title=text, steps=[step], rungs=[rung], chosen_because=text, weakest_basis=text, **lists, **notes)


def does_nothing(text: str) -> bool:
    """Whether no letter steers a terminal, turns the writing direction or hides something."""
    return all(letter.isprintable() or letter == "\n" for letter in text) and not any(unicodedata.category(letter) == "Cf" for letter in text)


def test_a_card_holds_what_the_answer_says(answer: Answer, card: Card, knowledge: Knowledge) -> None:
    """Each step's known parts stand on the card, the unknown ones do not, and what must be seen gets boxes."""
    label = knowledge.vocabulary.identify
    for step, shown in zip(answer.routes[0].steps, card.steps, strict=True):
        facts = {fact.label: fact.text for fact in shown.facts}
        named = label(step.carrier, "carrier")
        assert named is not None and facts["Carrier"] == named.label
        assert facts.get("Grade") == step.grade
        assert ("Minutes" in facts, "Take off" in facts, "Speed" in facts) == (step.minutes is not None, step.removal_um is not None, True)
        assert shown.checks == [step.done_when, step.before_next]
    assert len(card.cautions) == len(answer.cautions) > 3
    assert len(card.others) == len(answer.routes) - 1
    assert any(each.basis for each in card.reasons) and all("," in each.basis for each in card.values)


def test_minutes_and_removal_stand_there_once_they_are_known(answer: Answer, knowledge: Knowledge) -> None:
    """Minutes, removal and the depth of cracks come onto the card and into the ladder as soon as an answer has them."""
    first, *rest = answer.routes[0].steps
    known = replace(first, minutes=Range(low=4, mid=6, high=9), removal_um=Range(mid=80), leaves=replace(first.leaves, damage_um=Range(mid=30)))
    made = card_of(replace(answer, routes=[replace(answer.routes[0], steps=[known, *rest])]), knowledge.vocabulary)
    assert {("Minutes", "about 6 min (4 to 9)"), ("Take off", "about 80 µm")} <= {(fact.label, fact.text) for fact in made.steps[0].facts}
    assert 'class="cracks"' in str(written(made, "html")) and "cracks left 30 µm" in str(written(made, "html"))


def test_no_route_makes_no_card(answer: Answer, knowledge: Knowledge) -> None:
    """An answer without a route is refused with what it says instead."""
    with pytest.raises(NoRoute, match="nothing reaches"):
        card_of(replace(answer, routes=[], text="nothing reaches it"), knowledge.vocabulary)


def test_the_page_needs_nothing_beside_itself(card: Card) -> None:
    """The page is well formed, runs no script, and names nothing outside it; each check has a box."""
    text = str(written(card, "html"))
    page = Parsed(text)
    assert {"html", "main", "svg", "ol", "section"} <= set(page.elements)
    assert not {"script", "link", "img", "iframe", "object", "embed", "base", "form", "a"} & set(page.elements)
    assert not [name for name, _ in page.attributes if name in ("src", "href", "action", "xlink:href") or name.startswith("on")]
    assert not re.search(r"url\(|@import|https?:", text)
    assert page.elements.count("input") == sum(len(step.checks) for step in card.steps) > 0


@given(TEXTS)
def test_text_stays_text_in_html(text: str) -> None:
    """Whatever a text holds, the page has the same elements and attributes as with a plain word, and nothing is hidden in it."""
    made = str(written(saying(f"a{text}a"), "html"))
    plain, odd = Parsed(str(written(saying("x"), "html"))), Parsed(made)
    assert odd.elements == plain.elements
    assert [name for name, _ in odd.attributes] == [name for name, _ in plain.attributes]
    assert does_nothing(made.replace("\t", " "))


@given(TEXTS)
def test_text_stays_text_in_markdown(text: str) -> None:
    """Whatever a text holds, Markdown has the same parts as with a plain word: no markup, no further cells, no HTML."""

    def parts(said: str) -> list[str]:
        tokens = MarkdownIt("commonmark").enable(["table", "strikethrough"]).parse(str(written(saying(said), "markdown")))
        inner = [child.type for token in tokens for child in token.children or [] if child.type not in ("text", "text_special", "softbreak")]
        return [token.type for token in tokens] + sorted(inner)

    assert parts(f"a{text}a") == parts("x")
    assert does_nothing(str(written(saying(text), "markdown")))


@settings(max_examples=25)
@given(TEXTS)
def test_text_stays_text_in_pdf(text: str) -> None:
    """Whatever a text holds, the PDF can be read, runs nothing, and shows no letter that does something."""
    reader = PdfReader(io.BytesIO(bytes(written(saying(text), "pdf"))))  # type: ignore[arg-type]
    assert not {"/OpenAction", "/AA", "/Names"} & set(reader.trailer["/Root"]["/Pages"]) and "/JavaScript" not in str(reader.trailer["/Root"])
    assert "\u202e" not in "".join(page.extract_text() for page in reader.pages)


def test_the_table_is_whole(card: Card) -> None:
    """The Markdown table has a row for each step, all of the same number of cells, and each check a box."""
    text = str(written(card, "markdown"))
    rows = [line for line in text.splitlines() if line.startswith("|")]
    assert len(rows) == len(card.steps) + 2
    assert len({len(re.findall(r"(?<!\\)\|", row)) for row in rows}) == 1
    assert text.count("- [ ] ") == sum(len(step.checks) for step in card.steps)


def luminance(colour: str) -> float:
    """The relative luminance of ``#rrggbb``, as WCAG 2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


SCHEMES = [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block)) for block in re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)]


@pytest.mark.parametrize("scheme", SCHEMES, ids=["light", "dark", "print"])
def test_every_ink_reads_on_every_paper(scheme: dict[str, str]) -> None:
    """In each scheme each ink stands at 4.5 to 1 or more against each paper."""
    inks = [name for name in scheme if name.endswith("ink")]
    papers = [name for name in scheme if name.endswith("paper")]
    assert len(inks) == 4 and len(papers) == 3
    for ink in inks:
        for paper in papers:
            light, dark = sorted((luminance(scheme[ink]), luminance(scheme[paper])), reverse=True)
            assert (light + 0.05) / (dark + 0.05) >= 4.5, (ink, paper)


SIZES = st.none() | st.floats(0.01, 4000).map(lambda mid: Range(low=mid / 2, mid=mid, high=mid * 2))
RUNGS = st.lists(st.tuples(SIZES, SIZES, SIZES, TEXTS), min_size=1, max_size=8)


@given(RUNGS)
def test_the_ladder_stays_in_its_frame(sizes: list[tuple[Any, Any, Any, str]]) -> None:
    """All marks lie within the drawing, a coarser grain stands higher, and without any size nothing is drawn."""
    rungs = [Rung(number=index, name=name, grain=grain, left=left, cracks=cracks) for index, (grain, left, cracks, name) in enumerate(sizes, 1)]
    if not any(each for rung in rungs for each in (rung.grain, rung.left, rung.cracks)):
        with pytest.raises(ValueError, match="without a size"):
            list(ladder(rungs))
        return
    marks = list(ladder(rungs))
    for mark in marks:
        places = [(mark.x1, mark.y1), (mark.x2, mark.y2)] if isinstance(mark, Line) else [(mark.x, mark.y)]
        assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in places)
    bars = [mark for mark in marks if isinstance(mark, Bar) and mark.width > 8]
    grains = [rung.grain for rung in rungs if rung.grain]
    assert sorted(range(len(bars)), key=lambda at: bars[at].y) == sorted(range(len(bars)), key=lambda at: -(grains[at].high or 0))
    told = " ".join(mark.text for mark in marks if isinstance(mark, Word))
    assert ("grain size" in told) == bool(grains) and ("cracks" in told) >= any(rung.cracks for rung in rungs)
    assert any(isinstance(mark, Diamond) for mark in marks) == any(rung.left for rung in rungs)


def _one_sheet(steps: list[CardStep], **more: Any) -> Card:
    """A card of these steps as it is printed."""
    from finishing_kg.card.formats import for_one_sheet

    parts = ("understood", "supposed", "unused", "open", "rungs", "cautions", "hints", "others", "reasons", "values")
    empty: dict[str, Any] = {part: [] for part in parts}
    return for_one_sheet(Card(title="A card", chosen_because="", steps=steps, **{**empty, **more}))


def _step(number: int, **advice: str) -> CardStep:
    told = [Labelled(label=label, text=text) for label, text in advice.items()]
    return CardStep(number=number, name="grain", purpose="", facts=[], advice=told, checks=["see"])


def test_a_long_card_says_once_what_steps_share() -> None:
    """Advice that an earlier step gives letter for letter becomes a word that names the step; a short card stays as it is."""
    steps = [_step(1, How="h" * 3200, Feed="m" * 400), _step(2, How="h" * 3200, Feed="other"), _step(3, How="h" * 3200, Feed="m" * 400)]
    made = _one_sheet(steps)
    assert [(each.label, each.text) for each in made.steps[1].advice] == [("Feed", "other"), ("How", "as in step 1.")]
    assert [(each.label, each.text) for each in made.steps[2].advice] == [("How, feed", "as in step 1.")]
    assert made.left_out is None
    assert _one_sheet([_step(1, How="a"), _step(2, How="a")]).steps[1].advice == [Labelled(label="How", text="a")]


def test_a_long_card_leaves_out_what_is_least_needed_and_tells_it() -> None:
    """Sources, other choices and hints go before costs, pressure and feed; how, checks and reasons stay in any case."""
    more = [{label: f"{label[0]}{number}" * 100 for label in ("Feed", "Pressure", "Costs")} for number in range(6)]
    steps = [_step(number, How=f"{number}" * 900, **advice) for number, advice in enumerate(more)]
    notes = {part: [Labelled(label=part, text=part * 60)] for part in ("values", "others", "hints", "reasons")}
    made = _one_sheet(steps, **notes)
    assert not made.values and not made.others and not made.hints and made.reasons == notes["reasons"]
    assert [each.label for each in made.steps[0].advice] == ["How", "Feed", "Pressure"]
    assert made.left_out and "the other choices" in made.left_out and "costs" not in made.left_out.replace("what the steps cost", "")
    all_gone = _one_sheet([_step(number, How=f"{number}" * 3000, Feed="m", Pressure="p", Costs="c") for number in range(1, 7)], **notes)
    assert [[each.label for each in step.advice] for step in all_gone.steps] == [["How"]] * 6 and "how to feed" in str(all_gone.left_out)


def test_six_steps_fit_one_sheet_of_pdf(card: Card, six: Card) -> None:
    """A usual card and one of six steps are one sheet of A4 each, with every check and caution on it."""
    for made in (card, six):
        (sheet,) = PdfReader(io.BytesIO(bytes(written(made, "pdf")))).pages  # type: ignore[arg-type]
        told = " ".join(sheet.extract_text().split())
        assert round(float(sheet.mediabox.width)) == 595 and round(float(sheet.mediabox.height)) == 842
        assert all(check in told for step in made.steps for check in step.checks)
        assert all(each.text[:30] in told for each in made.cautions)


@pytest.mark.skipif(browser.BROWSER is None, reason="no Chromium is installed")
async def test_six_steps_fit_one_printed_sheet(six: Card, tmp_path: Path) -> None:
    """A browser prints a card of six steps on one sheet, A4 and letter, and asks for nothing while it shows it."""
    file = tmp_path / "card.html"
    file.write_text(str(written(six, "html")), encoding="utf-8")
    async with browser.opened(file.as_uri()) as page:
        assert await page.value("document.querySelectorAll('input').length") == sum(len(step.checks) for step in six.steps)
        for width, height in ((8.27, 11.69), (8.5, 11)):
            made = await page.do("Page.printToPDF", paperWidth=width, paperHeight=height, preferCSSPageSize=False)
            assert len(PdfReader(io.BytesIO(browser.data_of(made))).pages) == 1
        assert [each for each in page.requested if each != file.as_uri()] == []


def test_the_ending_tells_the_format() -> None:
    """The format that is asked for wins, then the ending of the file; Markdown without either."""
    assert [format_of(f"a{endings[0].upper()}", None) for endings in FORMATS.values()] == list(FORMATS)
    assert (format_of("a.pdf", "html"), format_of(None, None), format_of("a.txt", None)) == ("html", "markdown", "markdown")


@pytest.fixture
def shipped(knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """The knowledge that is loaded already, for commands."""
    monkeypatch.setattr(Knowledge, "shipped", lambda: knowledge)


@pytest.mark.parametrize("ending", ["md", "html", "pdf"])
def test_a_file_is_replaced_only_if_that_is_allowed(ending: str, shipped: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A card is written whole; a file that is there stays as it is unless ``--overwrite`` is given; nothing is left beside it."""
    file = tmp_path / f"card.{ending}"
    assert main(["card", QUESTION, "--output", str(file)]) == 0
    made = file.read_bytes()
    assert len(made) > 2000 and "Wrote a card of 4 steps" in capsys.readouterr().out
    file.write_bytes(b"mine")
    assert main(["card", QUESTION, "--output", str(file)]) == 2
    assert "there already" in capsys.readouterr().err and file.read_bytes() == b"mine"
    assert main(["card", QUESTION, "--output", str(file), "--overwrite"]) == 0
    assert len(file.read_bytes()) > 2000 and [each.name for each in tmp_path.iterdir()] == [file.name]


def test_without_a_route_nothing_is_written(shipped: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A question without a route is answered as ever, no file is made, and the status says so."""
    assert main(["card", "polish a rim", "--output", str(tmp_path / "card.md")]) == 3
    told = capsys.readouterr()
    assert "No card was written" in told.err and told.out and list(tmp_path.iterdir()) == []


def test_without_its_library_pdf_says_what_to_install(shipped: None, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Where fpdf2 is missing, PDF is refused with the command that brings it."""
    monkeypatch.setitem(sys.modules, "fpdf", None)
    monkeypatch.delitem(sys.modules, "finishing_kg.card.pdf", raising=False)
    assert main(["card", QUESTION, "--format", "pdf"]) == 2
    assert 'pip install "finishing-kg[pdf]"' in capsys.readouterr().err
