"""``finishing-kg rules sweep``."""

import sys
import time
from pathlib import Path

from finishing_kg.casebook import load_waivers
from finishing_kg.casebook.sweep import Row, combinations, spread, sweep
from finishing_kg.casebook.sweep import sample as spread_sample
from finishing_kg.casebook.sweep.run import read_rows
from finishing_kg.cli.casebook import progress
from finishing_kg.cli.errors import STOPPED, USED, Unusable
from finishing_kg.cli.output import print_json
from finishing_kg.compiled.key import key_of
from finishing_kg.engine import Knowledge
from finishing_kg.files import CannotWrite
from finishing_kg.places import shipped

INTERRUPTED = 130  # as a shell reports what Ctrl-C stopped
FAULT = "broken in a sweep"  # what a waiver calls it


def run_sweep(knowledge: Knowledge, table: str, *, every: bool, sample: int | None, processes: int | None, as_json: bool) -> int:
    """Sweep, or go on with a sweep, and print what is wrong.

    Args:
        knowledge: for the combinations; the workers load their own.
        table: the file for the rows.
        every: all combinations instead of the spread ones.
        sample: about how many of them, all unless given.
        processes: how many to run at once.
        as_json: print JSON.

    Raises:
        Unusable: a number below 1, or a table that cannot be written.
    """
    if min(sample or 1, processes or 1) < 1 or sample == 0 or processes == 0:
        raise Unusable("--sample and --processes take a number of at least 1.")
    cases = list((combinations if every else spread)(knowledge.vocabulary))
    if sample is not None:
        cases = spread_sample(cases, sample)
    waived = {about: reason for (fault, about), reason in load_waivers(sorted((shipped("rules") / "cases").glob("*.toml"))).items() if fault == FAULT}
    files = [*shipped("rules").glob("*.toml"), *shipped("ontology").glob("*.ttl")]
    began, first = time.monotonic(), list[int]()

    def tell(done: int, of: int) -> None:
        first.append(done) if not first else None
        left = (time.monotonic() - began) / (done - first[0] + 1) * (of - done)
        progress(f"{done} of {of}, about {left / 60:.0f} min left; it can be stopped, and the same command goes on")

    try:
        swept = sweep(cases, Path(table), workers=processes, fingerprint=key_of(map(str, files)).hex(), progress=tell)
    except CannotWrite as error:
        raise Unusable(str(error)) from error
    except OSError as error:
        raise Unusable(f"The table cannot be written ({error.strerror}). Make room; the same command goes on.", table) from error
    progress("")
    if swept.done < swept.cases:
        print(f"Stopped after {swept.done} of {swept.cases} combinations; the same command goes on.", file=sys.stderr)
    wrong = [(row, faults) for row in swept.faulty if (faults := row.unwaived(waived))]
    if as_json:
        print_json([{**row._asdict(), "faults": faults} for row, faults in wrong])
    else:
        for row, faults in wrong:
            print(f"{', '.join(filter(None, row[:6])) or 'nothing said'}: {'; '.join(faults)}")
        kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(swept.kinds.items()))
        print(f"{swept.done} combinations ({kinds}), {len(wrong)} with something wrong, {len(swept.faulty) - len(wrong)} waived.")
        print(_not_covered(knowledge, swept.done, read_rows(Path(table))))
    return INTERRUPTED if swept.done < swept.cases else STOPPED if wrong else USED


def _not_covered(knowledge: Knowledge, done: int, rows: list[Row]) -> str:
    """What the sweep says nothing about."""
    whole, again = sum(1 for _ in combinations(knowledge.vocabulary)), sum(row.again for row in rows)
    unknown = sum(row.kind == "question" for row in rows)
    return (
        f"Not covered: {whole - done:,} of the {whole:,} combinations that make sense; asking {done - again:,} of these again in other ways; "
        "measures, but for a narrow opening where a case is asked again; what is at hand or not wanted; complaints, plans, studios and talks. "
        f"{unknown:,} were only asked back about."
    )
