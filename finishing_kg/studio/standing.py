"""Whether the cases of a studio, and of the packs that it took in, still get the answers that they stand for."""

from collections.abc import Iterable

from finishing_kg.advice import PlanError
from finishing_kg.casebook import Case, faults_of
from finishing_kg.engine import Knowledge
from finishing_kg.studio.errors import StudioFault


def short_of(knowledge: Knowledge, cases: Iterable[Case]) -> list[StudioFault]:
    """How cases fall short, each with its file and its id; a case that cannot be asked falls short too."""
    return [StudioFault(case.file, 0, case.id, text) for case in cases for text in _faults(knowledge, case)]


def _faults(knowledge: Knowledge, case: Case) -> list[str]:
    try:
        return faults_of(knowledge, case)
    except PlanError as error:
        return [str(error)]
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        # What a case expects is compared as it stands, so a table of another form than the shipped ones shows only here.
        return [f"It cannot be asked ({type(error).__name__}: {error}). Its keys are those of the shipped cases."]
