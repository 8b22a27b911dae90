"""Studios for tests: how a rule or a thing is put into one, and what is wrong with it then."""

from pathlib import Path
from typing import Any

from finishing_kg.engine import Knowledge
from finishing_kg.studio import StudioError, read_studio
from finishing_kg.studio.write import LOCK

ROOT = Path(__file__).parent.parent
HEAD = (ROOT / "ontology" / "carriers.ttl").read_text(encoding="utf-8").split("\n\n")[0] + "\n"
GLASS = (
    'a fk:Glass ; skos:definition "Ours."@en ; dcterms:source src:common-practice ; '
    "fk:hardness [ fk:mid 5.5 ; qudt:unit fk:Mohs ; dcterms:source src:memory ]"
)
RULE = {"because": "So it has turned out here.", "basis": {"kind": "studio"}}
ASK = "Relief cast panel in studio soda-lime glass, straight from the mould, to pre-polish"


def rule(name: str, conditions: list[str], then: list[str], **more: Any) -> dict[str, Any]:
    """A rule's table."""
    return {"id": name, "if": conditions, "then": then, **RULE, **more}


def written_rule(name: str, conditions: str, conclusions: str) -> str:
    """A rule as it stands in a file."""
    return f'[[rule]]\nid = "{name}"\nif = [{conditions}]\nthen = [{conclusions}]\nbecause = "Nobody knows why."\nbasis = {{ kind = "studio" }}\n'


def faults(folder: Path, knowledge: Knowledge) -> list[str]:
    """Everything that is wrong with a studio, one text a fault; none if it opens."""
    try:
        read_studio(folder, knowledge)
    except StudioError as error:
        return [str(fault) for fault in error.faults]
    return []


def contents(folder: Path) -> dict[Path, bytes]:
    """All files of a folder but the lock."""
    return {file: file.read_bytes() for file in folder.rglob("*") if file.is_file() and file.name != LOCK}


def things(folder: Path, turtle: str) -> None:
    """Put Turtle into a studio."""
    (folder / "things" / "more.ttl").write_text(HEAD + turtle + "\n", encoding="utf-8")


REFUSED_RULES = {
    "the same id without safety": rule("lead-in-the-glass", ["the piece has glass ?glass"], ["the piece is still warm"]),
    "an override of a safety rule": rule(
        "sand-is-fine", ["?option uses mineral quartz sand"], ["?option is preferred"], overrides=["no-quartz-sand-in-the-blast"]
    ),
    "what silences": rule("in-a-cabinet", ["?step has hold air-borne"], ["?step runs on blast cabinet"]),
    "a glass that nobody named": rule("always-soda", ["the piece has form ?form"], ["the piece has glass studio soda-lime glass"]),
    "freed": rule("free", ["?option uses mineral quartz sand"], ["?option is freed from rule no-quartz-sand-in-the-blast"]),
    "judged": rule("judge", ["?option uses mineral quartz sand"], ["?option is judged by rule polish-off-polish-stage"]),
    "overridden by a sentence": rule("say-so", ["?option uses mineral quartz sand"], ["rule say-so overrides rule no-quartz-sand-in-the-blast"]),
    "let in": rule("offer", ["?option uses mineral quartz sand"], ["?option is offered"]),
    "in order": rule("order", ["?step uses mineral quartz sand"], ["?step is in order"]),
}
