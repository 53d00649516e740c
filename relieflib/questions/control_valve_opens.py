"""What 11 asks: the flow of a wide-open valve, its bypass, fail-closed, and a lost level."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import control_valve_opens as cvo
from relieflib.causes.shared.valve_flow import gas_steps
from relieflib.nozzle.gas import Gas
from relieflib.slips import Slip
from relieflib.working import Working, step

NOTEBOOK = 11
WARM_UP = (("10", "load"), ("10", "credit"))
KV_PER_CV = 0.865


def through_valve(flow_coefficient, upstream_pressure, downstream_pressure, molar_mass, k,
                  upstream_Z, upstream_temperature, xT):  # fmt: skip
    """Gas through a control valve that stands wide open."""
    source = Gas(upstream_pressure, upstream_temperature, molar_mass=molar_mass, k=k, Z=upstream_Z)
    return gas_steps(source, flow_coefficient, downstream_pressure, xT)


def in_parallel(flow_coefficient, bypass_coefficient):
    """A valve and its bypass, both open."""
    given = {"flow_coefficient": flow_coefficient, "bypass_coefficient": bypass_coefficient}
    return Working([step("total_coefficient", cvo.wide_open(**given), "C + C_by", cvo.SOURCE,
                         **given)])  # fmt: skip


def at_the_valve(hold_up, free_volume):
    """What the relief valve sees when the gas arrives."""
    return LIQUID if cvo.filled_fraction(hold_up, free_volume) > 1 else GAS


GAS = "Gas: the slug fits, and the gas passes over it."
LIQUID = "Liquid: the slug does not fit, and the gas pushes it out."
CV_FOR_KV = Slip(
    "94.8 with a Kv", "94.8, the constant of Cv, was used with a Kv",
    lambda i: i | {"flow_coefficient": i["flow_coefficient"] * KV_PER_CV}, common="often",
)  # fmt: skip
KV_FOR_CV = Slip(
    "Kv taken as Cv", "the Kv was turned into a Cv first, and 110, the constant of Kv, kept",
    lambda i: i | {"flow_coefficient": i["flow_coefficient"] / KV_PER_CV},
)  # fmt: skip

QUESTIONS = (
    *series(
        "flow",
        "A control valve of {flow_coefficient}, xT {xT}, stands wide open. Gas (M {molar_mass}, "
        "k {k}, Z {upstream_Z}, {upstream_temperature}) flows through it from "
        "{upstream_pressure} to {downstream_pressure}. What flow comes through?",
        through_valve,
        {
            "flow_coefficient": Varies(20.0, 8.0, 40.0, 0.5), "upstream_pressure": 70e5,
            "downstream_pressure": 8e5, "molar_mass": 18.0, "k": 1.28, "upstream_Z": 0.88,
            "upstream_temperature": 313.15, "xT": 0.7,
        },
        "valve_inflow",
        "Is the drop over the upstream pressure above xT k/1.4? Then that limit counts, and Y is "
        "2/3.",
        ("choked_drop_ratio", "pressure_drop_ratio", "expansion_factor"),
        note="The pressure downstream is far below the limit, so it does not matter to the flow.",
        why="Twice the Kv lets twice as much through: that is why a trim is part of the relief "
            "design.",
        slips=(CV_FOR_KV, KV_FOR_CV),
    ),
    Value(
        "bypass",
        "The largest trim that the body takes has {flow_coefficient}, the bypass "
        "{bypass_coefficient}. Nothing on the P&ID forbids to open both. Which coefficient "
        "counts?",
        in_parallel,
        {"flow_coefficient": Varies(16.0, 5.0, 30.0, 1.0), "bypass_coefficient": 10.0},
        "total_coefficient",
        "Both stand between the same two pressures.",
        why="In parallel, coefficients add. A bypass that is locked shut would be left out.",
        slips=(
            Slip("bypass left out", "the bypass was left out",
                 lambda i: i | {"bypass_coefficient": 0.0}, common="often"),
        ),
    ),
    Choice(
        "fail-closed",
        "A colleague strikes 'control valve opens' off the list: the valve is fail-closed. What do "
        "you say?",
        {
            "Agreed: its spring shuts it.":
                "Fail-closed tells what it does when air is lost. A wrong signal, a stuck "
                "trim or an operator still open it.",
            "It stays: the fail position covers the loss of air alone.":
                "One automatic valve is taken wide open whatever its spring is for (API 521, "
                "4.4.8).",
            "It stays only if there is a bypass.":
                "The bypass adds to the flow; the cause stands without it.",
        },
        "It stays: the fail position covers the loss of air alone.",
        hint="Which failures leave the air on?",
    ),
    Choice(
        "slug",
        "The level of a high-pressure vessel is lost; it held {hold_up} of liquid. The vessel "
        "behind it has room for {free_volume}. What stands at its relief valve when the gas "
        "arrives?",
        {
            GAS: "The slug is {hold_up}, the room {free_volume}. Only a slug that is smaller than "
                 "the room leaves the gas a way to the valve.",
            LIQUID: "The slug is {hold_up}, the room {free_volume}. A slug that is larger fills "
                    "the vessel, and then gas drives liquid through the valve.",
            "Always gas: it is lighter, and stands at the top.":
                "It comes in at the bottom of a vessel full of liquid. Until it has bubbled up, "
                "what leaves at the top is liquid, a hundred times as many kilograms.",
        },
        at_the_valve,
        {"hold_up": Varies(1.6, 0.3, 2.4, 0.1), "free_volume": 1.15},
        hint="Hold the slug against the room.",
    ),
    Choice(
        "full",
        "From the high levels the slug fills V-102, and some 740 t/h of liquid would have to "
        "leave. What do you do?",
        {
            "Size PSV-104 for it: a Q is enough.":
                "The area can be bought, but no flare line takes that flow, and the pressure "
                "rises before the gas has bubbled up to the valve.",
            "Leave it out: a level alarm warns the operator in time.":
                "Two minutes after LV-101 opened V-101 is dry. An alarm asks for somebody who sees "
                "it, finds the cause and shuts a valve within that time.",
            "Make it impossible: room for the slug, a small opening, or a reliable trip.":
                "Levels, a larger drum, a restriction, or a second valve that shuts on low level, "
                "as reliable as a risk study asks.",
        },
        "Make it impossible: room for the slug, a small opening, or a reliable trip.",
        hint="Who takes such a flow, and how fast does it come?",
    ),
    Value(
        "other pressure",
        "Choked gas through a wide-open valve of {flow_coefficient}, xT {xT}: M {molar_mass}, "
        "k {k}, Z {upstream_Z}, {upstream_temperature}. The source's own valve holds it at "
        "{upstream_pressure} in an upset that lasts; downstream stand {downstream_pressure}. "
        "Which flow would the demo plant's practice take?",
        through_valve,
        {
            "flow_coefficient": 12.0, "upstream_pressure": Varies(45e5, 30e5, 80e5, 0.5),
            "downstream_pressure": 7e5, "molar_mass": 22.0, "k": 1.26, "upstream_Z": 0.93,
            "upstream_temperature": 320.0, "xT": 0.72,
        },
        "valve_inflow",
        "Its practice: upstream at the relieving pressure of the source. Choked?",
        why="At operating pressure it would be less, as the absolute pressures are: the failure of "
            "the valve alone. Both are practised; the plant chooses.",
        slips=(CV_FOR_KV, KV_FOR_CV),
    ),
)  # fmt: skip
