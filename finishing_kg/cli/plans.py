"""Plans that commands write to files."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from finishing_kg.cli.errors import Unusable
from finishing_kg.cli.output import visible

if TYPE_CHECKING:
    from finishing_kg.advice import Advice, PlanCheck


def may_write(file: str, *, overwrite: bool) -> None:
    """Find out before the work whether a plan can be put there.

    Raises:
        Unusable: it cannot, or there is a file already and nobody said that it may go.
    """
    from finishing_kg.files import CannotWrite, place_of

    try:
        there = place_of(Path(file)).exists()
    except CannotWrite as error:
        raise Unusable(str(error)) from error
    if there and not overwrite:
        raise Unusable("There is a file of this name, and nothing was changed. Name another, or add --overwrite.", file)


def write_route(file: str, advice: Advice | None, *, as_json: bool) -> None:
    """Write the first choice of an answer, or say that there is none.

    Raises:
        Unusable: the file cannot be written.
    """
    from finishing_kg.advice.saved_route import route_toml

    text = route_toml(advice) if advice is not None else None
    _write(file, text, "the first choice as a plan", "this answer has no route", as_json=as_json)


def write_corrected(file: str, checked: PlanCheck, *, as_json: bool) -> None:
    """Write the corrected plan of a check, or say why there is none.

    Raises:
        Unusable: the file cannot be written.
    """
    from finishing_kg.advice.plan_writing import plan_toml

    text = plan_toml(checked.corrected, ["Corrected:", *checked.changes]) if checked.corrected is not None else None
    why = "there is no corrected plan" if checked.changes else "the plan needs no correction"
    _write(file, text, "the corrected plan", why, as_json=as_json)


def _write(file: str, text: str | None, what: str, why_not: str, *, as_json: bool) -> None:
    from finishing_kg.files import CannotWrite, write_whole

    if text is None:
        said = f"Nothing was written to {visible(file)}: {why_not}."
    else:
        try:
            write_whole(Path(file), text)
        except CannotWrite as error:
            raise Unusable(str(error)) from error
        said = f"Wrote {what} to {visible(file)}"
    # Standard output holds nothing but JSON where that was asked for.
    print(said, file=sys.stderr if as_json else sys.stdout)
