"""What a study does not say yet, as questions to those who know the plant."""

from relieflib import credible
from relieflib.disposal import plant_tree
from relieflib.plant import TAKES
from relieflib.study import events

VALVES = ("relief_valves", "rupture_disks", "tank_vents")


def questions(study):
    """Questions in words, the most telling first.

    Parameters: study, a `Study`. Returns list of str. Source: API 521 (2020), 4.1 to 4.4, says what
    must be considered; what a study needs beside it is common practice, no source.
    """
    asked = _of_site(study)
    for tag in study.items:
        asked += _of_item(study, tag)
    for case in study.cases:
        asked += _of_case(study, case)
    for valve in (i for i in study.plant.items.values() if i.section in VALVES[:2]):
        asked += _of_valve(study, valve)
    return asked


def _of_site(study):
    head = [key for key in ("number", "revision", "prepared_by") if not study.head.get(key)]
    asked = [f"What is the study's {' and '.join(head).replace('_', ' ')}? [study] does not say"
             ] if head else []  # fmt: skip
    several = [h for h in study.plant.headers if len(plant_tree.devices(study.plant, h)) > 1]
    if several and study.head.get("releases") != "complete":
        asked.append(
            f"Which valves lift together into {', '.join(several)}? Until the events stand among "
            "the cases and [study] says releases = 'complete', the highest pressure typed for the "
            "header counts"
        )
    if ("site",) not in study.lines:
        asked.append("Which pressure has the site's air? [site] is not given, sea level is taken")
    return asked


def _of_item(study, tag):
    asked, own = [], study.cases_for(tag)
    if tag not in study.plant.items:
        asked.append(f"What is {tag}? It has cases and stands in no section: its MAWP is not known")
    elif not study.plant.protecting(tag) and any(not c.device for c in own):
        asked.append(f"What protects {tag}? The file has no valve, disk or vent for it")
    said = study.considered.get(tag, {})
    there = {case.published_cause for case in own}.union(
        *(events.brought(study.plant, case) for case in own)
    )
    listed = [row["cause"] for row in credible.published_causes()]
    silent = [cause for cause in listed if cause not in said and cause not in there]
    if not own and not said:
        return [*asked, f"What can overpressure {tag}? No cause is considered and no case given"]
    if silent:
        asked.append(f"Which of these are credible for {tag}, and why or why not: "
                     f"{', '.join(silent)}?")  # fmt: skip
    open_ones = [c for c, v in said.items() if v.credible and not v.no_load and c not in there]
    if open_ones:
        asked.append(f"How much leaves {tag}: {', '.join(open_ones)}? Credible, and no case says")
    struck = [c for c in there if c in said and not said[c].credible]
    if struck:
        asked.append(f"Is {', '.join(struck)} credible for {tag} or not? It is said not to be, and "
                     "has a case")  # fmt: skip
    return asked


def _of_case(study, case):
    name = f"{case.item}, {case.name}"
    if case.only_result:
        return [f"What were the inputs of {name}? Only its result was kept: type the case again"]
    asked = [] if case.who else [f"Who wrote {name}, and when?"]
    several = [i.tag for i in study.plant.protecting(case.item) if i.section in VALVES[:2]]
    if not case.valve and not case.device and len(several) > 1:
        asked.append(f"Which valve is {name} sized on: {', '.join(several)}?")
    return asked


def _of_valve(study, valve):
    names = {side: [f"{side}_{n}" for n in ("diameter", "length", "elbows")]
             for side in ("inlet", "outlet")}  # fmt: skip
    if valve.section == "rupture_disks":
        return []
    lacking = [
        side for side, keys in names.items()
        if not hasattr(valve, side) and not all(hasattr(valve, k) for k in keys)
    ]  # fmt: skip
    asked = []
    if valve.tag not in study.plant.placements:
        asked.append(f"Where does {valve.tag} stand, and what can cut it off? [placements] is "
                     "silent on it")  # fmt: skip
    if lacking:
        asked.append(f"Which {' and '.join(lacking)} line has {valve.tag}? Without it nobody knows "
                     "if it lifts steadily")  # fmt: skip
    header = study.plant.headers[valve.destination]
    if not hasattr(header, "takes"):
        asked.append(f"Which phases is {header.tag} meant for: {', '.join(TAKES)}?")
    return list(dict.fromkeys(asked))
