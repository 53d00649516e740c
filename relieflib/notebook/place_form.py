"""Where a reader's own valve stands: a chooser a part, what the checks say of it, and a button.

What is judged is what is kept: the tables of a study's file that the choosers make. What is chosen
as 'not given' stands in no table, and a check of it then says 'not given'.
"""

import contextlib

import ipywidgets as widgets

from relieflib.errors import InputError
from relieflib.notebook import isolation_map
from relieflib.notebook.controls import choice, quantity
from relieflib.notebook.forms import in_a_row, shown_as, tell
from relieflib.notebook.own_numbers import study_path
from relieflib.notebook.panel import Panel
from relieflib.orifices import LETTERS, usual_designation
from relieflib.plant import plant_of
from relieflib.position import checks
from relieflib.position.placement import WORDS
from relieflib.position.reasons import reason_from
from relieflib.study.inputs import written
from relieflib.study.store import add_tables
from relieflib.study.study import open_study
from relieflib.symbols import shown

NOT, NONE = "not given", "none"
SECURED = (NONE, NOT, "no: nothing holds it", "locked open", "car sealed open")
# what stands before or behind it beside a block valve: words -> a part of the way
OTHERS = {
    NONE: None, "strainer": {"kind": "strainer"}, "demister": {"kind": "demister"},
    "check valve": {"kind": "check valve"}, "control valve": {"kind": "control valve"},
    "exchanger": {"kind": "exchanger"},
    "rupture disk with telltale": {"kind": "rupture disk", "telltale": True},
    "rupture disk, no telltale": {"kind": "rupture disk", "telltale": False},
}  # fmt: skip
OPEN_AIR, HEADER = "the open air", "a header"
_YES = {"yes": True, "no": False}
_LABELS = {
    "tapping": "its nozzle is at", "orientation": "it stands", "bonnet_vent": "its bonnet vent",
    "body_drain": "its body drain", "sensing": "a pilot senses",
    "enters_header": "its line enters the header", "discharge_direction": "an open end blows",
}  # fmt: skip
_ASKED = {
    "inlet_drains_back": "inlet drains back", "outlet_drains_away": "outlet drains away",
    "low_point_drained": "a low point of it is drained", "weep_hole": "weep hole, open stack",
    "end_fenced": "an open end is fenced off",
    "water_may_stand": "water may stand there", "winterised": "kept from freezing",
    "may_solidify": "what comes may set solid", "traced": "traced",
    "supported": "outlet held against its force", "test_access": "reached for test",
}  # fmt: skip
# what stands folded, along the flow
FOLDS = {
    "its nozzle and inlet": ("line_drop", "diameter", "disturbance", "disturbance_diameters",
                             "inlet_drains_back"),
    "how it stands": ("orientation", "bonnet_vent", "body_drain", "sensing"),
    "its outlet and its end": ("outlet_drains_away", "low_point_drained", "enters_header",
                               "elevation", "discharge_direction", "discharge_height", "weep_hole",
                               "end_fenced"),
    "weather, service, reach": tuple(list(_ASKED)[5:]),
}  # fmt: skip
ONLY_HEADER, ONLY_OPEN = ("enters_header",), ("discharge_direction", "weep_hole", "end_fenced")
SIZES = tuple(str(usual_designation(letter)) for letter in LETTERS)
_START = {"tapping": "top", "orientation": "upright", "bonnet_vent": "plugged",
          "inlet_drains_back": "yes", "water_may_stand": "no", "may_solidify": "no"}  # fmt: skip
FIXED = ("one valve without a spare; no other item that it protects too; a number counts as set. "
         "More goes into the file by hand: relieflib.position.placement says how.")  # fmt: skip
MOST = 5  # checks under the picture; the table has them all


def place_controls():
    """The choosers, along the flow. Returns a list of controls."""

    def asked(name):
        return choice(name, [NOT, "yes", "no"], _START.get(name), _ASKED[name])

    def of_words(name):
        return choice(name, [NOT, *WORDS[name]], _START.get(name), _LABELS[name])

    return [
        choice("kind", ["conventional", "balanced", "pilot"], label="kind of valve"),
        choice("designation", SIZES, "3L4", label="size"),
        quantity("mawp_gauge", 16e5, 1e5, 250e5, label="MAWP of what it protects"),
        quantity("set_pressure_gauge", 16e5, 1e5, 250e5),
        choice("liquid_case", [NOT, "gas", "liquid"], "gas", "what it is sized for"),
        of_words("tapping"),
        quantity("line_drop", 0.0, 0.0, 5e5, label="lost before its nozzle while it relieves"),
        quantity("diameter", 0.0779, 0.01, 0.5, label="narrowest bore before it"),
        choice("inlet_block", SECURED, "locked open", "block valve before it"),
        choice("before", list(OTHERS), "strainer", "else before it"),
        choice("disturbance", ["a vessel's own nozzle", *WORDS["disturbance"]],
               label="it stands on a line, behind"),
        choice("disturbance_diameters", [NOT, "5", "10", "20", "30", "40"],
               label="that many diameters before it"),
        asked("inlet_drains_back"), of_words("orientation"), of_words("bonnet_vent"),
        of_words("body_drain"), of_words("sensing"),
        quantity("outlet_diameter", 0.1023, 0.01, 0.6, label="narrowest bore behind it"),
        choice("outlet_block", SECURED, label="block valve behind it"),
        choice("behind", list(OTHERS)[:5], label="else behind it"),
        asked("outlet_drains_away"), asked("low_point_drained"),
        choice("end", [HEADER, OPEN_AIR], label="it leads to"),
        quantity("back_pressure_gauge", 0.5e5, 0.01e5, 20e5, label="highest in the header"),
        of_words("enters_header"),
        quantity("elevation", 1.0, -20.0, 50.0, label="its outlet above the header"),
        of_words("discharge_direction"),
        quantity("discharge_height", 3.0, 0.0, 50.0), asked("weep_hole"), asked("end_fenced"),
        *(asked(name) for name in list(_ASKED)[5:]),
    ]  # fmt: skip


def tables_of(values, atmosphere, tag="PSV-1", item="V-1", header="", sized_for=""):
    """The tables of a study's file that the choosers make.

    Parameters: values of `place_controls`; atmosphere [Pa]; tag of the valve, item that it
    protects, header it leads to, and the case it is sized for, in words. Returns {(section, tag):
    dict}. Source: `position.placement`.
    """

    def text(name):
        return written(name, values[name], atmosphere=atmosphere)

    is_open = values["end"] == OPEN_AIR
    header = header or ("ATM" if is_open else "FH")
    phase = "liquid" if values["liquid_case"] == "liquid" else "gas"
    valve = {"protects": item, "kind": values["kind"], "designation": values["designation"],
             "set_pressure_gauge": text("set_pressure_gauge"), "destination": header,
             "sized_for": sized_for or f"{phase}, case not said"}  # fmt: skip
    if values["liquid_case"] != NOT:
        valve["certified_for"] = [phase]
    highest = "0 barg" if is_open else written(
        "superimposed_gauge", values["back_pressure_gauge"], atmosphere=atmosphere)  # fmt: skip
    return {
        ("equipment", item): {"mawp_gauge": text("mawp_gauge")},
        ("headers", header): {"service": values["end"], "lowest_pressure_gauge": "0 barg",
                              "highest_pressure_gauge": highest},
        ("relief_valves", tag): valve,
        ("placements", tag): _placement(values, tag, is_open, text),
    }  # fmt: skip


def _placement(values, tag, is_open, text):
    number = "".join(c for c in tag if c.isdigit()) or "1"
    before, behind = text("diameter"), text("outlet_diameter")
    nozzle, pipe = ({"kind": kind, "inside_diameter": bore} for kind, bore in
                    (("nozzle", before), ("pipe", behind)))  # fmt: skip
    found = {
        "inlet": [
            nozzle,
            *_parts(values["inlet_block"], values["before"], f"HV-{number}A", before),
        ],
        "outlet": [
            pipe,
            *_parts(values["outlet_block"], values["behind"], f"HV-{number}B", behind),
        ],
        "tapping_drop": text("line_drop"),
    }
    skip = (*ONLY_HEADER, "height_above_header") if is_open else (*ONLY_OPEN, "discharge_height")
    if values["disturbance"] in WORDS["disturbance"]:
        found["disturbance"] = values["disturbance"]
        if values["disturbance_diameters"] != NOT:
            found["disturbance_diameters"] = int(values["disturbance_diameters"])
    if values["liquid_case"] != NOT:
        found["liquid_case"] = values["liquid_case"] == "liquid"
    for name in (*_LABELS, *_ASKED):
        if values[name] != NOT and name not in skip:
            found[name] = _YES.get(values[name], values[name])
    heights = {"height_above_header": "elevation", "discharge_height": "discharge_height"}
    found |= {name: text(own) for name, own in heights.items() if name not in skip}
    if values["kind"] != "pilot":
        found.pop("sensing", None)
    return found


def _parts(block, other, tag, bore):
    """Parts of one side of the way: the block valve, and what else stands there."""
    parts = []
    if block != NONE:
        part = {"kind": "block valve", "tag": tag}
        parts.append(part if block == NOT else part | {"secured": block.partition(":")[0]})
    parts += [dict(OTHERS[other])] if OTHERS[other] else []
    return [part | {"inside_diameter": bore} if part["kind"] in checks.BORES else part
            for part in parts]  # fmt: skip


def judged(values, atmosphere):
    """What the checks say of a place. Parameters: values of `place_controls`; atmosphere [Pa].
    Returns dict with case, checks and reason. Raises InputError for what can't be.
    """
    data = {"site": {"name": "own place", "atmosphere": f"{atmosphere!r} Paa"}}
    for (section, tag), table in tables_of(values, atmosphere).items():
        data.setdefault(section, {})[tag] = table
    case = checks.case_of(plant_of(data, "own place"), "PSV-1")
    found = checks.check(case)
    return {"case": case, "checks": found, "reason": reason_from(found), "most": MOST}


def rows_of(result, unit_set="SI"):
    """Rows of the table: the verdict, then what differs and what is not given."""
    found = result["checks"]
    leads = result["case"].plant.headers[result["case"].placement.destination]
    high = shown("back_pressure_gauge", leads.highest_pressure_gauge, unit_set)
    rows = [("as a safeguard", result["reason"].verdict),
            ("leads to", f"{leads.service}, at most {high}")]  # fmt: skip
    rows += [(f"differs [{c.severity}]", f"{c.name}: {c.reason}") for c in found
             if c.verdict == "differs"]  # fmt: skip
    open_ones = [c.name for c in found if c.verdict == NOT]
    rows += [(NOT, "; ".join(open_ones))] if open_ones else []
    return [*rows, ("agree", str(sum(c.verdict == "agrees" for c in found)))]


class PlaceForm:
    """The choosers of a place, what is found of it, and a button that keeps it in the study.

    Parameters: plant, for the site's air. What the study has already, valve, item or header, stays
    as it is there; a placement that is there is refused.
    """

    def __init__(self, plant):
        self.air = plant.atmosphere
        self.panel = Panel(place_controls(), lambda **v: judged(v, self.air),
                           isolation_map.build_place, isolation_map.update_place, rows_of,
                           size=isolation_map.PLACE, fold=FOLDS)  # fmt: skip
        self.tag, self.item, self.header, self.sized_for = (
            widgets.Text(placeholder=words, description=name)
            for name, words in (("valve", "its tag"), ("protects", "tag of the item"),
                                ("leads to", "header's name"), ("sized for", "case, in words"))
        )  # fmt: skip
        self.button = widgets.Button(description="Keep this place", icon="plus")
        self.button.layout.width = "160px"
        self.said = widgets.HTML()
        self.button.on_click(lambda _: tell(self.said, self._act, "Not kept"))
        fields = [self.tag, self.item, self.header, self.sized_for, self.button]
        kept = widgets.HTML(f"<div><b>Kept fixed here:</b> {FIXED}</div>")
        parts = [self.panel.widget, kept, in_a_row(fields), self.said]
        self.box = widgets.VBox(parts)

    def _act(self):
        fields = (self.tag, self.item, self.header, self.sized_for)
        return self.save(*(w.value.strip() for w in fields))

    def save(self, tag, item, header="", sized_for=""):
        """Keep the place in the study, as `[placements.TAG]`, with what it needs and is not there.

        Parameters: tag of the valve; item that it protects; header; sized_for, the case in words.
        Returns the words that say what was written. Raises InputError for no tag, a panel out of
        date, a placement that is there, or a valve that the study says protects something else.
        """
        if not tag or not item:
            raise InputError("valve, protects: name the valve and what it protects")
        if self.panel.words:
            raise InputError("the panel is out of date: set it to a possible place first")
        path = study_path()
        tables = tables_of(self.panel.values, self.air, tag, item, header, sized_for)
        there = open_study(path).plant if path.exists() else None
        if there is not None:
            tables = _not_there(tables, there, tag, item)
        with contextlib.suppress(OSError):  # a folder that can't be made is said by `add_tables`
            path.parent.mkdir(parents=True, exist_ok=True)
        add_tables(path, tables)
        new = ", ".join(".".join(keys) for keys in tables)
        return f"Kept in {path.name}: {new}. What stood there already stays as it was"

    def __repr__(self):
        return (
            f"Kept fixed here: {FIXED}\n"
            "Set the choosers to your valve, name it, press the button: its place is kept"
        )

    def _repr_mimebundle_(self, include=None, exclude=None):
        return shown_as(self.box, text_plain=repr(self))


def _not_there(tables, plant, tag, item):
    """Those tables that a study does not have; InputError where it says something else."""
    if tag in plant.placements:
        raise InputError(f"placements.{tag} stands in the study already: change it there")
    known = {*plant.items, *plant.headers}
    valve = plant.items.get(tag)
    if valve is not None and getattr(valve, "protects", item) != item:
        raise InputError(f"{tag} protects {valve.protects} in the study, not {item}")
    left = {keys: table for keys, table in tables.items()
            if keys[0] == "placements" or keys[1] not in known}  # fmt: skip
    if valve is not None:  # it says itself where it leads
        left = {keys: table for keys, table in left.items() if keys[0] != "headers"}
    return left
