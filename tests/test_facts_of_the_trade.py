"""Facts of the trade, each 'common practice, no source', asked of the modules and the plant."""

from dataclasses import replace

import pytest

from relieflib import demo, pid_note, safeguard, summary
from relieflib.nozzle.liquid import Liquid
from relieflib.plant import load_plant
from relieflib.safeguard import Valve, cover, larger, matrix, one_more
from relieflib.sizing import ReliefLoad

WIDE = "control valve and bypass open"
PLANT = load_plant()
SEEN = "checked by the test's own statement"


def installed(tag, **more):
    """The valve of an item, its lines seen to, no other valve open into its header."""
    valve = PLANT.protecting(tag)[0].tag
    alone = {"inlet": SEEN, "outlet": SEEN, "header_pressure": PLANT.header_pressures(valve)[0]}
    return Valve.of(PLANT, valve, **alone | dict(position="seen to") | more)


def test_a_thermal_expansion_valve_does_not_cover_a_blocked_outlet():
    # common practice, no source: the bullet, full of propane in the sun, against its feed pump
    # running into it with the outlet shut: both liquid, one vessel, one relieving pressure
    cases = demo.cases(PLANT, "V-105")
    thermal, blocked = cases["liquid-full in the sun"], cases["closed outlet, P-102"]
    assert thermal.load.stream.pressure == pytest.approx(blocked.load.stream.pressure)
    assert blocked.required_area > 10 * thermal.required_area
    assert blocked.load.mass_flow > 10 * thermal.load.mass_flow
    v = installed("V-105", designation=thermal.designation, certified_for=("liquid",),
                  takes=("gas", "liquid"))  # fmt: skip
    assert cover(v, thermal.load).verdict == "covers"
    found = cover(v, blocked.load)
    assert found.verdict == "does not cover" and found.short > 0
    assert [r.subject for r in found.why_not] == ["area"]


def test_nor_does_it_cover_a_burst_tube():
    # common practice, no source: cold side of the off-gas cooler, blocked in or with a tube burst
    cases = demo.cases(PLANT, "E-101")
    thermal, burst = cases["hydraulic expansion"], cases["tube rupture, gas"]
    assert burst.required_area > 100 * thermal.required_area


def test_what_is_not_covered_needs_a_larger_valve_or_one_more():
    # common practice, no source: PV-101 with its bypass against the 3L4 of the receiver
    v = installed("V-104")
    loads = {cause: s.load for cause, s in demo.cases(PLANT, "V-104").items()}
    before = matrix([v], loads)
    # a dry vessel in a fire: no valve answers for its wall (API 521, 4.4.13)
    dry = "exterior fire"
    assert before.uncovered == (WIDE, dry)
    load = loads[WIDE]
    for fit in (larger(v, load), one_more(v, load)):
        after = matrix([replace(fit, inlet=SEEN, outlet=SEEN)], loads)
        assert after.uncovered == (dry,)
        verdicts = {cause: c.verdict for (cause, _), c in after.covers.items()}
        assert verdicts.pop(dry) == "not known" and set(verdicts.values()) == {"covers"}
        assert [r.subject for r in after[dry, fit.tag].why_not] == ["wall"]
    assert larger(v, load).designation == demo.cases(PLANT, "V-104")[WIDE
                                                                          ].designation  # fmt: skip


def test_a_pid_note_lets_a_reader_judge_protection():
    # common practice, no source: number, arrangement, set, letter and sizes, governing case
    governing = summary.compare(demo.cases(PLANT, "V-104").values()).governing
    v = replace(larger(installed("V-104"), governing.load), tag="PSV-105", spare=1)
    note = pid_note.write_note(v, WIDE)
    checks = pid_note.check_note(note, v, WIDE, governing.required_area)
    assert {c.verdict for c in checks} == {"agrees"}
    entries = {"2 x": "3 x", "1 duty + 1 spare": "2 duty", "16 barg": "17 barg", "N": "M",
               "4N6": "4N8", WIDE: "closed outlet", "FH": "ATM"}  # fmt: skip
    for right, wrong in entries.items():
        assert right in note
        planted = pid_note.check_note(note.replace(right, wrong), v, WIDE,
                                      governing.required_area)  # fmt: skip
        assert any(c.verdict == "differs" for c in planted), right


def test_gas_to_flare_or_atmosphere_liquid_to_a_closed_system():
    # common practice, no source
    takes = {tag: header.takes for tag, header in PLANT.headers.items()}
    assert "gas" in takes["FH"] and "gas" in takes["ATM"] and "liquid" in takes["CD"]
    assert "liquid" not in takes["FH"] and "liquid" not in takes["ATM"]
    gas = demo.cases(PLANT, "V-104")["closed outlet"].load
    liquid = ReliefLoad("closed_outlet", 1.0, Liquid(gas.stream.pressure, 600.0,
                                                  saturation_pressure=1e4))  # fmt: skip
    for header, phases in takes.items():
        v = installed("V-104", destination=header, takes=tuple(phases),
                      certified_for=safeguard.PHASES)  # fmt: skip
        table = matrix([v], {"gas": gas, "liquid": liquid})
        sent = {"FH": ["liquid"], "ATM": ["liquid"], "CD": ["gas"]}[header]
        assert [cause for cause, _ in table.misdirected] == sent
        assert list(table.uncovered) == sent


def test_a_summary_that_sends_liquid_to_the_flare_is_flagged():
    # common practice, no source: all of the bullet's liquid cases, and none of its fires
    cases = demo.cases(PLANT, "V-105")
    table = matrix([installed("V-105")], {cause: s.load for cause, s in cases.items()})
    flagged = {cause for cause, _ in table.misdirected}
    liquid = {c for c, s in cases.items() if safeguard.phase_of(s.load.stream) == "liquid"}
    assert flagged == liquid and len(liquid) >= 3
    assert not any("fire" in cause for cause in flagged)


def test_the_largest_flow_need_not_govern():
    # common practice, no source (API 521, 4.1 says so of areas): heavy fluid, more flow, less area
    for tag in ("V-105", "C-101", "V-101"):
        found = summary.compare(demo.cases(PLANT, tag).values())
        most = max(found.sizings, key=lambda s: s.load.mass_flow)
        if most is not found.governing:
            assert most.required_area < found.governing.required_area
            return
    pytest.fail("no item of the plant shows it any more: choose another")
