"""What the place of a relief device says of it as a safeguard: one reason for the judge."""

from relieflib.errors import InputError
from relieflib.position.checks import CAN_STILL_BE_CLOSED, case_of, check
from relieflib.position.isolation import ASKS
from relieflib.safeguard.judge import COVERS, FAILS, UNKNOWN, Reason

SUBJECT = "position"
SOURCE = "API 520-II; ASME BPVC XIII, Part 12 (formerly VIII-1 UG-135), from memory"


def reason_of(plant, tag, network=None, found=None):
    """Where a device of a plant stands, as a `Reason` of the safeguard judge.

    A fault that leaves the item not protected fails it; one by which the valve may not work as
    meant makes it not known, and so does a question of either weight that has no answer. A
    block valve that is locked open is credited, and named. Parameters: plant; tag of a relief
    device; network and found as `checks.case_of`. Returns `Reason`; None where the file gives no
    placement. A placement that can't be used is not known. Source: as `checks.check`.
    >>> from relieflib.plant import load_plant
    >>> print(reason_of(load_plant(), "PSV-107").verdict)
    does not cover
    """
    if tag not in plant.placements:
        plant[tag]  # refuses what is no tag
        return None
    try:
        checks = check(case_of(plant, tag, network, found))
    except (InputError, StopIteration) as problem:
        return Reason(SUBJECT, UNKNOWN, (f"where it stands can't be used: {problem}",), SOURCE)
    return reason_from(checks)


def reason_from(checks):
    """The `Reason` that a list of checks of one device comes to.

    Parameters: checks, list of `Check`. Returns `Reason`. Source: as `reason_of`.
    """
    differs, open_ = (
        [c for c in checks if c.verdict == v and c.severity <= 2] for v in ("differs", "not given")
    )
    fails = [c for c in differs if c.severity == 1]
    if fails:
        return Reason(SUBJECT, FAILS, ("; ".join(c.reason for c in fails),), SOURCE)
    if differs or open_:
        words = [c.reason for c in differs] + [f"{c.name}: not given" for c in open_]
        return Reason(SUBJECT, UNKNOWN, ("; ".join(words),), SOURCE)
    held = [
        c.reason.partition(CAN_STILL_BE_CLOSED)[0]
        for c in checks
        if CAN_STILL_BE_CLOSED in c.reason
    ]
    words = f"; {', '.join(held)}{CAN_STILL_BE_CLOSED}{ASKS}" if held else ""
    return Reason(SUBJECT, COVERS, ("nothing on the drawing stands against it", words), SOURCE)
