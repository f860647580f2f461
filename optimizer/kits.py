"""Kits files: adjuster kits that a case may be tried with, each row judged on its own."""

from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optimizer.errors import CaseFileError, Fault, PivotwrightError
from optimizer.models.base import faults_in, quoted
from optimizer.models.case import Case
from optimizer.models.kits import Kit, KitsFile
from optimizer.models.limits import Joint, OuterJoint
from optimizer.search.stacks import shelf_stacks
from optimizer.strength import grade_faults
from optimizer.toml_file import file_text, table_from_text
from optimizer.units import Units


@dataclass(frozen=True)
class Kits:
    """Kits that can be tried, the `currency` of their prices, and what is wrong with the others."""

    kits: tuple[Kit, ...]
    currency: str | None
    refused: CaseFileError | None


def read_kits(path: str | PathLike[str]) -> Kits:
    """Read a kits file.

    Returns
    -------
    Kits
        Rows with a fault are left out and named in `refused`.

    Raises
    ------
    CaseFileError
        The file as a whole can't be used, or none of its rows can.
    """
    table = table_from_text(file_text(Path(path)), str(path))
    rows = table.pop("kits", None)
    head = _head(path, table)
    if not isinstance(rows, list) or not rows:
        message = 'must be given\n(a table [[kits]] a kit, each with name = "…" and a stack)'
        raise CaseFileError(path, [Fault("kits", message)])
    kits: dict[str, Kit] = {}
    faults: list[Fault] = []
    for place, row in enumerate(rows, start=1):
        kit, wrong = _kit(row, head.units)
        if kit is not None and kit.name in kits:
            wrong += [Fault("name", f"must differ from the other kits', got {quoted(kit.name)}")]
        if kit is not None and not wrong:
            kits[kit.name] = kit
        faults += [fault.inside(f"kits[{place}]") for fault in wrong]
    refused = CaseFileError(path, faults) if faults else None
    if not kits and refused is not None:
        raise refused
    return Kits(tuple(kits.values()), head.currency, refused)


def case_with_kit(case: Case, kit: Kit) -> Case:
    """Make the case of the same car with a kit in place of its own stack and shelf.

    Of the outer joint, the stud and the thread the kit replaces what it states.  A stud of the case
    that is held otherwise than the kit has no place in it, so the kit's is then not known.
    """
    joint = case.joint
    if kit.rod_end is not None:
        joint = _joint_with(joint, kit)
    stud = case.stud
    if kit.stud is not None:
        force = kit.stud.rod_force_n or (None if stud is None else stud.rod_force_n)
        stud = kit.stud.model_copy(update={"rod_force_n": force})
    elif stud is not None and stud.seat != kit.seat:
        stud = None
    return case.model_copy(
        update={
            "outer_pivot": case.outer_pivot.model_copy(update={"stack": kit.stack}),
            "shelf": kit.shelf,
            "joint": joint,
            "stud": stud,
            "thread": case.thread if kit.thread is None else kit.thread,
        }
    )


def _joint_with(joint: Joint, kit: Kit) -> Joint:
    if kit.rod_end is None:
        return joint
    sizes = kit.rod_end.model_dump(include={"housing_diameter", "housing_height"})
    changes: dict[str, Any] = {name: size for name, size in sizes.items() if size is not None}
    if kit.rod_end.states_a_limit:
        limit = kit.rod_end.model_dump(exclude={"housing_diameter", "housing_height"})
        changes["outer"] = OuterJoint(**limit, bolt_axis=joint.outer.bolt_axis)
    return joint.model_copy(update=changes)


def _head(path: str | PathLike[str], table: dict[str, Any]) -> KitsFile:
    try:
        return KitsFile.model_validate(table)
    except ValidationError as error:
        raise CaseFileError(path, faults_in(error, KitsFile)) from None


def _kit(row: object, units: Units) -> tuple[Kit | None, list[Fault]]:
    try:
        kit = Kit.model_validate(row, context={"units": units})
    except ValidationError as error:
        return None, faults_in(error, Kit, list(row) if isinstance(row, dict) else [])
    try:
        if kit.shelf is not None and not shelf_stacks(kit.shelf, kit.stack, units):
            return None, [Fault("shelf", "must build a stack between stack.min and stack.max")]
    except PivotwrightError as error:
        return None, [Fault("shelf", f"must build fewer stacks: {error}")]
    return kit, list(grade_faults(kit.stud, units))
