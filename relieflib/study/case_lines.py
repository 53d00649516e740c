"""The lines of a case: what stands before and behind the valve that it is sized on.

In the file a table of the case, whose parts are those of `lines.written`; the other keys are the
options of `lines.check`, none of them needed:

    [cases.V-1."closed outlet".lines]
    designation = "3L4"                     # of the valve between them; else the usual one
    inlet = [{ kind = "entrance flush", nps = "3" }, { kind = "pipe", nps = "3", length = "1.2 m" }]
    outlet = [{ kind = "pipe", nps = "4", length = "28 m" }]
    superimposed_gauge = "0.05 barg"        # behind the line before it opens, constant
    variable_superimposed_gauge = "0.3 barg"    # what others make above that, also before

An outlet line makes back pressure of its own: the case is then sized with it, and its
`back_pressure` is what stands beyond the line. An installed valve has its lines in its own table.
"""

from relieflib.errors import InputError
from relieflib.lines import inlet as inlet_line, outlet as outlet_line
from relieflib.lines.written import SIDES, line_of
from relieflib.plant import read_value
from relieflib.sizing import size
from relieflib.texts import harmless

INLET = ("modulating", "remote_sensing", "loss_limit")
OUTLET = ("superimposed_gauge", "variable_superimposed_gauge", "flow", "line_Z", "flange_class")
BOTH = ("designation", "viscosity")
KEYS = (*SIDES, *INLET, *OUTLET, *BOTH)


def read(lines, atmosphere, where="case"):
    """The lines of a case: parts as `Line`, options in SI.

    Parameters: lines, table as written; atmosphere [Pa]; where, words before a message. Returns
    dict. Raises InputError naming the key. Source: the file.
    >>> found = read({"inlet": [{"kind": "pipe", "nps": "3", "length": "1.2 m"}]}, 101325.0)
    >>> found["inlet"].length
    1.2
    """
    where = f"{where}, lines"
    unknown = [key for key in lines if key not in KEYS]
    if unknown:
        raise InputError(f"{where}: key '{harmless(unknown[0], 40)}' is not known: "
                         + ", ".join(KEYS))  # fmt: skip
    if not any(side in lines for side in SIDES):
        raise InputError(f"{where}: give {' or '.join(SIDES)}, a list of parts")
    found = {key: read_value(key, value, where, atmosphere) for key, value in lines.items()}
    _of_its_side(found, where)
    for side in (s for s in SIDES if s in found):
        found[side] = line_of(found[side], f"{where}, {side}")
    return found


def _of_its_side(found, where):
    for side, keys in zip(SIDES, (INLET, OUTLET)):
        stray = [key for key in keys if key in found and side not in found]
        if stray:
            raise InputError(f"{where}: {stray[0]} belongs to an {side} line, and there is none")


def sized(load, device, back_pressure, edition, lines):
    """A load sized on a valve in its lines, and what each line makes of it.

    Parameters: load; device; back_pressure, beyond the outlet line or, without one, at the valve
    [Pa absolute]; edition; lines, as `read`. Returns (`Sizing`, {side: `LineCheck`}). Raises
    InputError as `lines.inlet.check` and `lines.outlet.solve`. Source: as they.
    """
    both = {key: lines[key] for key in BOTH if key in lines}
    found = {}
    if "outlet" in lines:
        own = both | {key: lines[key] for key in OUTLET if key in lines}
        found["outlet"] = outlet_line.solve(load, device, lines["outlet"], edition=edition,
                                            header_pressure=back_pressure, **own)  # fmt: skip
        sizing = found["outlet"].sizing
    else:
        sizing = size(load, device, back_pressure, edition)
    if "inlet" in lines:
        own = both | {key: lines[key] for key in INLET if key in lines}
        found["inlet"] = inlet_line.check(sizing, lines["inlet"], **own)
    return sizing, {side: found[side] for side in SIDES if side in found}


def in_words(side, check, say):
    """What a line makes of a case, on one line.

    Parameters: side; check, `LineCheck`; say(name, value), a quantity as text. Returns str.
    Source: as the check's.
    """
    name = "inlet_loss" if side == "inlet" else "built_up"
    what = "loss" if side == "inlet" else f"{check.limit_kind} back pressure"
    allowed = "no limit" if check.limit != check.limit else f"{say(name, check.limit)} allowed"
    flags = "".join(f"; {flag}" for flag in check.flags)
    if getattr(check, "blocked", False):
        return f"{side} line: {check.verdict}, it can't pass the rated flow{flags}"
    return f"{side} line: {check.verdict}, {what} {say(name, check.value)}, {allowed}{flags}"


def part_words(lines):
    """What is written of each line, as one text a side and option.

    Parameters: lines, table as written. Returns {'lines.inlet': text}. Source: the file.
    """

    def of(value):
        if not isinstance(value, list):
            return str(value)
        return "; ".join(", ".join(f"{v}" if k == "kind" else f"{k} {v}" for k, v in part.items())
                         for part in value)  # fmt: skip

    return {f"lines.{key}": of(value) for key, value in lines.items()}
