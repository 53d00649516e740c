"""What 17 asks: the largest sum of one event, what still boils, stored air, springs, spares."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import power_and_air_failure as power
from relieflib.slips import another_way
from relieflib.working import Working, step

NOTEBOOK = 17
WARM_UP = (("10", "load"), ("02", "two failures"))
_T_H = 1000.0 / 3600.0  # kg/s in a t/h
_WATER, _FIRE = {"A": 60 * _T_H, "B": 30 * _T_H}, {"A": 15 * _T_H, "C": 12 * _T_H}
_OTHERS = {"B": 45 * _T_H, "C": 20 * _T_H}  # when power is lost, A apart


def events(mass_flow):
    """Loads of three valves in three events; A's in the loss of power is the one that varies."""
    return {"water": _WATER, "fire": _FIRE, "power": _OTHERS | {"A": mass_flow}}


def of_one_event(mass_flow):
    """The largest sum of one event, what the header must take."""
    found = power.disposal_load(events(mass_flow))
    water, others = sum(_WATER.values()), sum(_OTHERS.values())
    return Working([step("event_load", found.mass_flow, f"max({water!r}, W + {others!r})",
                         "largest sum of one event", mass_flow=mass_flow)])  # fmt: skip


def still_boils(reboiler_duty, remaining_cooling, latent_heat):
    """Vapour that the heat which is not taken out makes."""
    net = max(reboiler_duty - remaining_cooling, 0.0)
    return Working([
        step("net_heat", net, "max(Q_reb - Q_rem, 0)", "API 521 (2020), 4.4.3",
             reboiler_duty=reboiler_duty, remaining_cooling=remaining_cooling),
        step("mass_flow", net / latent_heat, "Q_net/h_v", "API 521 (2020), 4.4.3", net_heat=net,
             latent_heat=latent_heat),
    ])  # fmt: skip


QUESTIONS = (
    *series(
        "still boils",
        "Cooling water fails. The reboiler gives {reboiler_duty} at relieving pressure. The "
        "air-cooled part of the condenser runs on and still takes {remaining_cooling}. The latent "
        "heat is {latent_heat}. Which load has the column's valve in this event?",
        still_boils,
        {
            "reboiler_duty": Varies(850e3, 500e3, 2e6, 10.0), "remaining_cooling": 200e3,
            "latent_heat": 250e3,
        },
        "mass_flow",
        "What is not taken out boils.",
        ("net_heat",),
        note="The event says what fails; the cause says what that brings. Here the event is lost "
             "water, the cause loss of cooling.",
        why="Had the fans hung on the same bus, nothing would be taken out, and nothing deducted.",
        slips=(
            another_way(lambda reboiler_duty, latent_heat, **_: reboiler_duty / latent_heat,
                        "what the air-cooled part still takes was not deducted"),
            another_way(lambda reboiler_duty, remaining_cooling, latent_heat:
                        (reboiler_duty + remaining_cooling) / latent_heat,
                        "what is still taken out was added"),
        ),
    ),
    Value(
        "one event",
        "Valves A, B and C blow into one header. Cooling water lost: A 60 000 kg/h, B 30 000. "
        "Fire: A 15 000, C 12 000. Power lost: B 45 000, C 20 000, and A {mass_flow}. What must "
        "the header take, in these three events?",
        of_one_event,
        {"mass_flow": Varies(40 * _T_H, 27 * _T_H, 50 * _T_H, 500.0)},
        "event_load",
        "Add along each event, then take the largest.",
        why="No event brings every valve's worst day. And no event may be left out.",
        slips=(
            another_way(lambda mass_flow: power.disposal_load(events(mass_flow)).sum_of_maxima,
                        "the worst of every valve was added, which no event brings"),
            another_way(lambda mass_flow: sum(_WATER.values()), "the loss of power was left out"),
            another_way(lambda mass_flow: 60 * _T_H,
                        "that is the largest load of one valve; the header takes all of an event"),
        ),
    ),
    Choice(
        "stored air",
        "Bus A feeds the cooling-water pumps and the air compressor. FV-103 on the reboiler's "
        "steam fails closed. A colleague says: bus A lost, air lost, steam shut, so PSV-106 of the "
        "column can't lift. What do you say?",
        {
            "Agreed: without steam nothing boils.":
                "True once the steam is shut. FV-103 shuts when the AIR is gone, and the receiver "
                "holds some for a while.",
            "While stored air lasts, the steam stays on and the water is gone: it lifts.":
                "So the event has two moments. At first the column's valve lifts; when the air is "
                "used up, other valves do.",
            "It lifts only if FV-103 sticks as well.":
                "Nothing has to stick. With air in the receiver the valve does what its controller "
                "says, and that asks for steam.",
        },
        "While stored air lasts, the steam stays on and the water is gone: it lifts.",
        hint="What moves FV-103 while there is air left?",
    ),
    Choice(
        "fails closed",
        "PV-101 lets gas into V-104, and its spring shuts it when the air fails. May 'control "
        "valve opens' be struck off the list of V-104?",
        {
            "It may: fail-closed means that it can't stay open.":
                "Fail-closed says what it does when air is lost. A wrong signal or a broken "
                "positioner still opens it.",
            "It stays: the spring answers the loss of air, and nothing else.":
                "A standard takes the valve wide open whatever its fail position. The spring "
                "matters in the events of power and air alone.",
            "It may, where a second valve in series also fails closed.":
                "The second one helps against a stuck trim, and must be shown not to hang on the "
                "same signal. The spring has nothing to do with it.",
        },
        "It stays: the spring answers the loss of air, and nothing else.",
        hint="What else makes a valve open?",
    ),
    Choice(
        "spare pump",
        "Power fails and the feed pump stops. Its steam-driven spare starts by itself; nobody ever "
        "tried whether it does, and how fast. Does it count?",
        {
            "It does: it needs no power, so the event leaves it alone.":
                "It needs more than steam: a signal, a valve that opens, a turbine that is warm. "
                "Nobody has seen all that happen in time.",
            "Only a spare that runs already, or is proved to start in time, counts.":
                "A pump that shares the load in normal service and goes on is the usual credit. "
                "A start that was never tried is a hope.",
            "It counts for half the flow.":
                "It delivers all or nothing. Half of what may not come is no number to size with.",
        },
        "Only a spare that runs already, or is proved to start in time, counts.",
        hint="Proved, or hoped?",
    ),
    Choice(
        "large enough",
        "PSV-100 has more area than any cause needs. On bus A others fill its header to 0.68 barg "
        "before it is asked for. It is conventional, set at its vessel's MAWP of 5 barg. What do "
        "you say?",
        {
            "It protects: the area is ample.":
                "Area is what it passes once it is open. It opens 0.63 bar late, at 5.63 barg, and "
                "5.50 barg are allowed.",
            "It does not protect in this event: it opens beyond what the vessel may see.":
                "The others push its disc shut. A balanced valve, or another way out, puts it "
                "right; a larger letter does not.",
            "It protects: 5.63 barg are within the 21 % of a fire.":
                "21 % are for fire. This is a failure of power, and 10 % above MAWP are allowed: "
                "5.50 barg.",
        },
        "It does not protect in this event: it opens beyond what the vessel may see.",
        hint="At which pressure does it open, and how far may the vessel rise?",
    ),
)  # fmt: skip
