"""From the bench log to facts: which jobs can be compared with what is expected, and the paces that follow."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from finishing_kg.compiled import Sections
from finishing_kg.measure import Quantity, QuantityError
from finishing_kg.quantities import UnknownGrade, expect_step, nominal_size, read_grade
from finishing_kg.studio.log import Record, area_of, minutes_of
from finishing_kg.studio.pace import Pace, estimate, prior
from finishing_kg.vocabulary import Basis, Claim, Name, Vocabulary


@dataclass(frozen=True, slots=True)
class Compared:
    """One job beside what was expected of it.

    Attributes:
        record: the job.
        operation: id, or empty where it is not known.
        expected: minutes, by the shipped knowledge and the studio's things; ``None`` where they are not known.
        why_not: a sentence that says why it counts for nothing; empty where it counts.
    """

    record: Record
    operation: str = ""
    expected: Quantity | None = None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Paced:
    """The pace of one operation on one glass.

    Attributes:
        operation, glass: ids.
        pace: the estimate.
        jobs: how many it comes from.
        first, last: the earliest and the latest date among them.
    """

    operation: str
    glass: str
    pace: Pace
    jobs: int
    first: str
    last: str

    @property
    def id(self) -> str:
        """The id of the thing that this is about in statements."""
        return f"pace-{self.operation}-{self.glass}"


def compare(vocabulary: Vocabulary, record: Record) -> Compared:
    """A job beside what is expected of it; the vocabulary must hold no pace yet, or a job would be compared with itself."""
    for part in ("mineral", "hold", "carrier", "glass"):
        thing = getattr(record, part)
        if not thing:
            return Compared(record, why_not=f"It does not say which {part}.")
        if vocabulary.names.get(thing) is None or vocabulary.names[thing].kind != part:
            return Compared(record, why_not=f"{thing!r} is no {part} that is known now.")
    try:
        expected = expect_step(
            vocabulary,
            mineral=record.mineral,
            hold=record.hold,
            carrier=record.carrier,
            glass=record.glass,
            form=record.form if record.form in vocabulary.names else None,
            entering=_grain(vocabulary, record.found, None, record.found_hold or None),
            entering_hold=record.found_hold or None,
            grain=_grain(vocabulary, record.grade, record.mineral, record.hold),
            area=area_of(record, vocabulary),
        )
    except (UnknownGrade, QuantityError) as error:
        return Compared(record, why_not=str(error))
    if expected.operation is None or expected.minutes is None or not expected.minutes.mid:
        return Compared(record, expected.operation or "", why_not=expected.unknown.get("minutes", "No time is expected of it."))
    return Compared(record, expected.operation, expected.minutes)


def _grain(vocabulary: Vocabulary, grade: str, mineral: str | None, hold: str | None) -> Quantity | None:
    """The nominal grain of a grade as it was written; ``None`` where none was.

    Raises:
        UnknownGrade: it is none.
    """
    if not grade:
        return None
    ways = read_grade(vocabulary, grade, mineral, hold)
    if not ways:
        raise UnknownGrade(grade, "I know no such grade.")
    return nominal_size(vocabulary, ways[0].grade)


def paces(vocabulary: Vocabulary, jobs: Iterable[Compared]) -> list[Paced]:
    """The pace of each operation on each glass that has jobs which count."""
    groups: dict[tuple[str, str], list[Compared]] = {}
    for job in jobs:
        if job.expected is not None:
            groups.setdefault((job.operation, job.record.glass), []).append(job)
    before = prior(vocabulary)
    found = []
    for (operation, glass), counted in sorted(groups.items()):
        ratios = [float(minutes_of(job.record, vocabulary).mid / job.expected.mid) for job in counted if job.expected is not None]
        dates = sorted(job.record.at[:10] for job in counted)
        found.append(Paced(operation, glass, estimate(ratios, before), len(counted), dates[0], dates[-1]))
    return found


def with_paces(vocabulary: Vocabulary, found: Iterable[Paced]) -> Vocabulary:
    """The vocabulary with a thing for each pace and what is held of it, resting on the bench log."""
    names, claims = dict(vocabulary.names), list(vocabulary.claims)
    for paced in found:
        label = f"{vocabulary.names[paced.operation].label} on {vocabulary.names[paced.glass].label}"
        names[paced.id] = Name(paced.id, paced.id, "pace", label, (), "A pace of this studio, from its bench log.")
        period = f"from {paced.first} to {paced.last}" if paced.first != paced.last else f"of {paced.first}"
        basis = Basis("bench log", None, f"{paced.jobs} record{'s' if paced.jobs > 1 else ''} {period}")
        claims += [
            Claim("isThePaceOf", paced.id, paced.operation, basis),
            Claim("isThePaceOn", paced.id, paced.glass, basis),
            Claim("minutesFactor", paced.id, paced.pace.factor(), basis),
        ]
    return replace(vocabulary, names=names, claims=tuple(claims), sections=Sections())
