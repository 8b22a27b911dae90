"""What ``studio list`` and ``studio log --show`` print, as data and for people."""

from collections.abc import Callable
from typing import Any

from finishing_kg.cli.output import visible
from finishing_kg.measure.quantity import plain
from finishing_kg.quantities import corrected, designation
from finishing_kg.studio import Studio
from finishing_kg.studio.paced import Compared
from finishing_kg.studio.sources import in_pack


def listed(studio: Studio) -> dict[str, Any]:
    """All that a studio has written down."""
    vocabulary = studio.knowledge.vocabulary
    return {
        "name": studio.settings.name,
        "rules": [{"id": rule.id, "file": rule.file, "line": rule.line, "because": rule.because, "safety": rule.safety} for rule in studio.own_rules],
        "things": [
            {"id": thing, "kind": vocabulary.names[thing].kind, "label": vocabulary.names[thing].label, "file": file, "line": line}
            for thing, (file, line) in sorted(studio.own_things.items())
            if thing in vocabulary.names
        ],
        "shelf": [
            {
                "thing": item.thing,
                "grades": [designation(vocabulary, grade) for grade in item.grades],
                "marked_speed": str(item.marked_speed) if item.marked_speed else None,
            }
            for item in studio.shelf.items
        ],
        "cases": [{"id": case.id, "file": case.file} for case in studio.cases],
        "records": len(studio.jobs),
        "packs": [{"name": pack.name, "version": pack.version, "licence": pack.licence, "studio": pack.studio} for pack in studio.packs],
    }


def render_list(shown: dict[str, Any]) -> None:
    """For people: a line each."""
    print(visible(shown["name"]))
    for rule in shown["rules"]:
        print(visible(f"  rule {rule['id']}{' (safety)' if rule['safety'] else ''}  {_place(rule['file'])}, line {rule['line']}: {rule['because']}"))
    for thing in shown["things"]:
        print(visible(f"  {thing['kind']} {thing['id']}  {thing['file']}, line {thing['line']}: {thing['label']}"))
    for item in shown["shelf"]:
        more = ", ".join([*item["grades"], *([f"marked {item['marked_speed']}"] if item["marked_speed"] else [])])
        print(visible(f"  on the shelf {item['thing']}" + (f": {more}" if more else "")))
    for case in shown["cases"]:
        print(visible(f"  case {case['id']}  {case['file']}"))
    for pack in shown["packs"]:
        print(visible(f"  pack {pack['name']} {pack['version']}, of {pack['studio']}, licence: {pack['licence']}"))
    print(f"  bench log: {shown['records']} records")


def _place(file: str) -> str:
    """Where a rule's file lies in the studio's folder; one that came in a pack names that itself."""
    return file if in_pack(file) else f"rules/{file}"


def shown_log(studio: Studio, *, for_people: bool = False) -> dict[str, Any]:
    """The log, and for each pace the minutes of its last job before and after.

    Args:
        studio: whose log.
        for_people: whether things go by their names; else they go by their ids.
    """
    vocabulary = studio.knowledge.vocabulary

    def named(thing: str) -> str:
        return vocabulary.names[thing].label if for_people and thing in vocabulary.names else thing

    paces = []
    for pace in studio.paces:
        job = next(job for job in reversed(studio.jobs) if (job.operation, job.record.glass) == (pace.operation, pace.glass) and job.expected)
        factor = pace.pace.factor()
        assert job.expected is not None
        paces.append(
            {
                "operation": named(pace.operation),
                "glass": named(pace.glass),
                "jobs": pace.jobs,
                "from": pace.first,
                "to": pace.last,
                "factor": _numbers(factor),
                "expected": str(job.expected),
                "corrected": str(corrected(job.expected, factor, vocabulary.units)),
            }
        )
    return {"records": [_job(job, named) for job in studio.jobs], "paces": paces, "half_written": studio.torn or None}


def _numbers(factor: Any) -> dict[str, float]:
    return {"low": float(factor.lowest), "mid": float(factor.mid), "high": float(factor.highest)}


def _job(job: Compared, named: Callable[[str], str]) -> dict[str, Any]:
    record = job.record
    what = " ".join(named(part) for part in (record.hold, record.mineral, record.grade) if part)
    what += f" on {named(record.carrier)}" if record.carrier else ""
    return {
        "at": record.at,
        "what": what,
        "glass": named(record.glass) or None,
        "minutes": record.minutes,
        "expected": plain(job.expected.mid) + " min" if job.expected else None,
        "why_not_counted": job.why_not or None,
        "note": record.note or None,
    }


def render_log(shown: dict[str, Any]) -> None:
    """For people: each job, then what follows from them."""
    for job in shown["records"]:
        beside = f"expected {job['expected']}" if job["expected"] else f"not counted: {job['why_not_counted']}"
        about = ", ".join(filter(None, [job["what"].strip(), job["glass"], job["note"]]))
        print(visible(f"{job['at'][:10]}  {about}: took {job['minutes']}, {beside}"))
    for pace in shown["paces"]:
        factor = pace["factor"]
        print(visible(f"\n{pace['operation']} on {pace['glass']}, from {pace['jobs']} jobs: {factor['mid']:g} times the expected minutes", keep="\n"))
        print(f"  nine chances in ten that it lies between {factor['low']:g} and {factor['high']:g}")
        print(f"  the last of these jobs, before: {pace['expected']}; after: {pace['corrected']}")
    if not shown["paces"]:
        print("No job can be compared yet, so nothing is corrected.")
    if shown["half_written"]:
        print(f"A last line was cut off and counts for nothing: {visible(shown['half_written'][:80])}")
