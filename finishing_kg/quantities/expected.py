"""What is to be expected of a step: how much it has to take off, how long that takes, and what it leaves."""

from finishing_kg.measure import Quantity
from finishing_kg.quantities.computations import CORRECTED_MINUTES, GREATEST, MEAN_PRESSURE, MINUTES, REMOVAL_OWED, WORKING_SPEED
from finishing_kg.quantities.marks import cracks_left, depth_to_take, roughness_left
from finishing_kg.quantities.operations import coefficient, operation_of
from finishing_kg.quantities.pace import pace_of
from finishing_kg.quantities.working import Computed, Held, Working
from finishing_kg.record import record
from finishing_kg.vocabulary import Claim, Vocabulary

_A_MILLIMETRE = Quantity.of(1, "mm")
_BENCH = "bench"  # the thing that holds what is usual where nobody says otherwise


@record(frozen=True, slots=True)
class Expected:
    """What is to be expected of a step. A quantity is ``None`` where it is not known; ``unknown`` then says why.

    Attributes:
        operation: id of the operation, or ``None``.
        cracks_found: depth of the cracks under the surface that it finds, µm; told where ``removal`` is.
        owed: the depth that the step must clear at least: the cracks that it finds less those that it leaves, and a defect, µm.
        removal: the depth that it takes off, µm: what it owes, and no less than practice takes after the grain before, nor than the
            roughness that it makes itself, since it has to work the whole face over.
        roughness_left, cracks_left: height of the roughness and depth of the cracks that it leaves, µm.
        speed: at the contact, m/s: as given, or as is usual for the carrier.
        pressure: mean over the face, kPa.
        area: of the face, as given or as assumed.
        minutes: for that area. They rank by their middle; their ends may lie decades apart. Where a studio's pace of the operation on
            the glass is held, they are corrected by it.
        minutes_a_millimetre: of glass taken off, where it is not known how much has to come off, but how fast it does; corrected alike.
        assumed: what was taken from the ontology for want of a value of this piece: the area, the force, the speed.
        unknown: for each of ``owed``, ``removal``, ``roughness_left``, ``cracks_left``, ``speed``, ``pressure`` and ``minutes`` that is
            ``None``, a sentence that says why.
        computed: every computation in its order; each can be done again by its name in ``computations``.
    """

    operation: str | None
    cracks_found: Quantity | None
    owed: Quantity | None
    removal: Quantity | None
    roughness_left: Quantity | None
    cracks_left: Quantity | None
    speed: Quantity | None
    pressure: Quantity | None
    area: Quantity | None
    minutes: Quantity | None
    minutes_a_millimetre: Quantity | None
    assumed: tuple[Claim, ...]
    unknown: dict[str, str]
    computed: tuple[Computed, ...]


def expect_step(
    vocabulary: Vocabulary,
    *,
    mineral: str,
    hold: str,
    carrier: str,
    glass: str | None = None,
    stage: str | None = None,
    form: str | None = None,
    entering: Quantity | None = None,
    entering_hold: str | None = None,
    grain: Quantity | None = None,
    area: Quantity | None = None,
    speed: Quantity | None = None,
    defect: Quantity | None = None,
) -> Expected:
    """What is to be expected of one step.

    Args:
        vocabulary: the ontology.
        mineral, hold, carrier: ids of the method.
        glass, stage, form: ids, or ``None`` where nobody said; an unknown glass widens every range over all glasses.
        entering: effective grain of the surface that the step finds, a length.
        entering_hold: id of the hold of the grain that left it; unknown, the relations of all holds are taken.
        grain: size of the grade that is used; a mineral without grade needs none.
        area: of the face; unless given, the form's or the bench's usual one.
        speed: at the contact; unless given, the carrier's usual ones.
        defect: on a first step the depth of a scratch, saw step or skin that must go.

    Raises:
        QuantityError: a quantity of the wrong dimension.
    """
    return _Step(Working(vocabulary), mineral, hold, carrier, glass).expect(
        stage=stage, form=form, entering=entering, entering_hold=entering_hold, grain=grain, area=area, speed=speed, defect=defect
    )


def _quantity(held: Held | None) -> Quantity | None:
    return held.quantity if held else None


class _Step:
    def __init__(self, working: Working, mineral: str, hold: str, carrier: str, glass: str | None) -> None:
        self.working, self.vocabulary = working, working.vocabulary
        self.mineral, self.hold, self.carrier, self.glass = mineral, hold, carrier, glass
        self.unknown: dict[str, str] = {}
        self.assumed: list[Claim] = []

    def expect(
        self,
        *,
        stage: str | None,
        form: str | None,
        entering: Quantity | None,
        entering_hold: str | None,
        grain: Quantity | None,
        area: Quantity | None,
        speed: Quantity | None,
        defect: Quantity | None,
    ) -> Expected:
        given = Held(grain) if grain is not None else None
        left = self._left(given)
        found, owed, removal = self._removal(stage, Held(entering) if entering is not None else None, entering_hold, left, defect)
        run = self._speed(speed)
        face = Held(area) if area is not None else self._usual_area(form)
        pressure = self._pressure(face)
        operation = operation_of(self.vocabulary, self.mineral, self.hold, self.carrier)
        minutes, a_millimetre = self._minutes(operation, given, removal, pressure, run)
        roughness, cracks = left
        return Expected(
            operation=operation,
            cracks_found=_quantity(found),
            owed=_quantity(owed),
            removal=_quantity(removal),
            roughness_left=_quantity(roughness),
            cracks_left=_quantity(cracks),
            speed=_quantity(run),
            pressure=_quantity(pressure),
            area=_quantity(face),
            minutes=_quantity(minutes),
            minutes_a_millimetre=_quantity(a_millimetre),
            assumed=tuple(self.assumed),
            unknown=self.unknown,
            computed=tuple(self.working.done),
        )

    def _label(self, thing: str) -> str:
        return self.vocabulary.names[thing].label

    def _left(self, grain: Held | None) -> tuple[Held | None, Held | None]:
        """Roughness and cracks left: by the grain of a mineral that cuts, by the effective surface that any other leaves."""
        leaves = grain if self.vocabulary.holds(self.mineral, "cutsGlass") else self.working.held(self.mineral, "leftGrain")
        if leaves is None:
            why = f"No grade is named, so what {self._label(self.mineral)} leaves is not known."
            self.unknown |= {"roughness_left": why, "cracks_left": why}
            return None, None
        roughness = roughness_left(self.working, leaves, self.hold)
        cracks = cracks_left(self.working, leaves, self.hold, self.glass)
        for name, found in (("roughness_left", roughness), ("cracks_left", cracks)):
            if found is None:
                self.unknown[name] = f"What {self._label(self.hold)} grain leaves follows no known relation."
        return roughness, cracks

    def _removal(
        self, stage: str | None, entering: Held | None, entering_hold: str | None, left: tuple[Held | None, Held | None], defect: Quantity | None
    ) -> tuple[Held | None, Held | None, Held | None]:
        """The cracks found, what is owed, and what comes off."""
        roughness, own = left
        why = None
        if stage is not None and defect is None and self.vocabulary.holds(stage, "changesTheForm"):
            why = f"How much has to come off at the stage {self._label(stage)} is given by the form that is wanted."
        elif entering is None:
            why = "The surface that the step finds is not known."
        elif own is None or roughness is None:
            why = next(self.unknown[name] for name in ("cracks_left", "roughness_left") if name in self.unknown)
        else:
            before = cracks_left(self.working, entering, entering_hold, self.glass)
            usual = depth_to_take(self.working, entering, entering_hold)
            if before is not None and usual is not None:
                owed = self.working.compute(REMOVAL_OWED, before, own, *([Held(defect)] if defect is not None else []))
                return before, owed, self.working.compute(GREATEST, owed, usual, roughness)
            why = f"What {self._label(entering_hold or self.hold)} grain leaves follows no known relation."
        self.unknown |= {"owed": why, "removal": why}
        return None, None, None

    def _speed(self, speed: Quantity | None) -> Held | None:
        if speed is not None:
            return Held(self.vocabulary.units.settle(speed, ("m/s",)))
        ends = [end for part in ("leastSpeed", "greatestSpeed") if (end := self._taken(self.carrier, part))]
        if len(ends) != 2:
            self.unknown["speed"] = f"For {self._label(self.carrier)} no speed at the contact is known."
            return None
        return self.working.compute(WORKING_SPEED, *ends)

    def _usual_area(self, form: str | None) -> Held | None:
        return (self._taken(form, "workArea") if form else None) or self._taken(_BENCH, "workArea")

    def _pressure(self, face: Held | None) -> Held | None:
        force = self._taken(self.carrier, "workingForce")
        if force is None or face is None:
            self.unknown["pressure"] = f"How hard {self._label(self.carrier)} is pressed is not known."
            return None
        return self.working.compute(MEAN_PRESSURE, force, face)

    def _taken(self, subject: str, predicate: str) -> Held | None:
        """A usual value, noted as assumed."""
        found = self.working.held(subject, predicate)
        if found is not None and found.claim is not None:
            self.assumed.append(found.claim)
        return found

    def _minutes(
        self, operation: str | None, grain: Held | None, removal: Held | None, pressure: Held | None, run: Held | None
    ) -> tuple[Held | None, Held | None]:
        """The minutes of the step; where it is not known how much has to come off, those of a millimetre instead."""
        if operation is None:
            why = f"No operation is known that uses {self._label(self.mineral)}, {self._label(self.hold)}, on {self._label(self.carrier)}."
            self.unknown["minutes"] = why
            return None, None
        rate = coefficient(self.working, operation, self.mineral, self.glass, grain)
        if isinstance(rate, str):
            self.unknown["minutes"] = rate
            return None, None
        lacking = [part for part in ("removal", "pressure", "speed") if part in self.unknown]
        if lacking:
            self.unknown["minutes"] = self.unknown[lacking[0]]
        if pressure is None or run is None:
            return None, None
        minutes = self.working.compute(MINUTES, removal or Held(_A_MILLIMETRE), rate, pressure, run)
        pace = pace_of(self.vocabulary, operation, self.glass)
        factor = self.working.held(pace, "minutesFactor") if pace is not None else None
        told = self.working.compute(CORRECTED_MINUTES, minutes, factor) if factor is not None else minutes
        return (None, told) if removal is None else (told, None)
