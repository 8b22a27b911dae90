"""The harness of mutation testing notices a planted fault, one that no test can notice, and one that never comes to an end."""

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from mutation.survivors import known

ROOT = Path(__file__).resolve().parents[2]
_FILE = "finishing_kg/proofs/check.py"
_TEST = "tests/test_forged_proofs.py::test_a_fact_with_any_part_of_a_derivation_is_rejected[bindings]"
_PLANTED = {
    ("if proof.bindings or proof.premises", "if proof.premises"): ["killed", _TEST],
    ("def fault(self, proof: Proof)", "def fault(self, proof: No_such)"): ["killed", "being imported"],
    ("is given as a fact and yet has a derivation", "has a derivation"): ["survived", ""],
    ("held = self.facts.get(proof.statement)", "while True: pass"): ["timed out", _TEST],
}
# In a process of its own: a mutant must be there before the module that it spoils. It may loop for a second only.
_TRY = """
import json, sys
from mutation import warm
warm.SLACK = 1.0
file, test, changes = json.loads(sys.argv[1])
source = (warm.ROOT / file).read_text(encoding="utf-8")
for was, now in changes:
    assert source.count(was) == 1, was
    print(json.dumps(warm.tried(file, source.replace(was, now), {test: 0.2})))
"""


def test_what_is_planted_is_noticed() -> None:
    """Of four changed modules one fails its test, one cannot be imported, one does as before, and one is stopped."""
    given = json.dumps([_FILE, _TEST, list(_PLANTED)])
    environment = {"PYTHONPATH": f"{ROOT}:{ROOT / 'tests'}", "PATH": "", "FINISHING_KG_CACHE": ""}
    told = subprocess.run([sys.executable, "-c", _TRY, given], env=environment, stdout=subprocess.PIPE, text=True, check=True, timeout=120)
    assert [json.loads(line) for line in told.stdout.splitlines()] == list(_PLANTED.values())


def test_known_survivors_still_stand_where_they_were() -> None:
    """What a listed mutant changes is in its module: a survivor of code that is gone goes too."""
    for (place, was, now), one in known().items():
        file = ROOT / f"{place.partition(':')[0].replace('.', '/')}.py"
        lines = " ".join(line.strip() for line in file.read_text(encoding="utf-8").splitlines())
        assert was in lines, one
        assert was != now, one


def test_a_survivor_without_a_reason_is_refused(tmp_path: Path) -> None:
    """An entry says what was changed, of what kind it is, and why it survives."""
    whole = {"place": "finishing_kg.x", "was": "a", "now": "b", "kind": "equivalent", "reason": "so"}
    for spoilt in ({**whole, "reason": " "}, {**whole, "kind": "fine"}, {key: whole[key] for key in whole if key != "now"}):
        file = tmp_path / "survivors.toml"
        file.write_text("[[survivor]]\n" + "".join(f"{key} = {json.dumps(value)}\n" for key, value in spoilt.items()), encoding="utf-8")
        with pytest.raises(ValueError, match=r"survivors.toml, entry 1: write place, was"):
            known(file)


def test_a_sample_takes_an_equal_share_of_each_room() -> None:
    """The same seed draws the same, each mutant once; each room has its share, and each of its modules as much as it is part of the room."""
    pytest.importorskip("mutmut", reason='needs the extra: pip install -e ".[mutation]"')
    from mutation.mutants import Module, sampled

    check_and_model = [Module("finishing_kg/proofs/check.py"), Module("finishing_kg/proofs/model.py")]
    rooms = {"proofs": check_and_model, "engine": [Module("finishing_kg/engine/compare.py")]}
    chosen = sampled(rooms, 41, 7)
    names = {room: [(module.file, number) for module, number in drawn] for room, drawn in chosen.items()}
    assert {room: len(drawn) for room, drawn in names.items()} == {"proofs": 21, "engine": 20}
    assert all(len(set(drawn)) == len(drawn) for drawn in names.values())
    check, model = (len(module.mutations) for module in check_and_model)
    assert abs(Counter(file for file, _ in names["proofs"])["finishing_kg/proofs/check.py"] - 21 * check / (check + model)) <= 1
    again = sampled({"engine": rooms["engine"]}, 20, 7)
    assert [(module.file, number) for module, number in again["engine"]] == names["engine"]
    mutant = rooms["engine"][0].mutant(0)
    assert mutant.code != rooms["engine"][0].source and mutant.was != mutant.now
    assert sum(map(len, sampled(rooms, None, 1).values())) == sum(len(module.mutations) for modules in rooms.values() for module in modules)
