"""What 50 asks: which case governs, what is short, staggered sets, the spare, who opens late."""

from relieflib import set_pressure as sp
from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.slips import another_way
from relieflib.working import Working, step

NOTEBOOK = 50
WARM_UP = (("10", "larger"), ("30", "liquid"))


def short(required_area, installed_area, mass_flow):
    """What an installed area does not pass of a load; at one state flow goes with area."""
    part = installed_area / required_area
    passed = mass_flow * part
    return Working([
        step("covered", part, "A_inst/A", "installed over required",
             installed_area=installed_area, required_area=required_area),
        step("installed_flow", passed, "W*x_cov", "at one state flow goes with area",
             mass_flow=mass_flow, covered=part),
        step("flow_short", max(mass_flow - passed, 0.0), "max(W - W_inst, 0)",
             "0 where the load is covered", mass_flow=mass_flow, installed_flow=passed),
    ])  # fmt: skip


def second_set(mawp_gauge):
    """Where the second of two valves may be set at most, no fire."""
    highest = sp.highest_set(mawp_gauge, "additional")
    source = "ASME BPVC XIII (formerly VIII-1 UG-134(a))"
    return Working([step("set_pressure_gauge", highest,
                         f"{sp.HIGHEST_SET['additional']}*MAWP", source,
                         mawp_gauge=mawp_gauge)])  # fmt: skip


QUESTIONS = (
    Choice(
        "what is bought",
        "A vessel has three causes. Fire: 30 000 kg/h, 900 mm². Closed outlet: 12 000 kg/h, "
        "1400 mm². Tube rupture: 9000 kg/h, 1100 mm². Which one governs?",
        {
            "The fire: it brings most kilograms.":
                "It brings most and needs least: 900 mm². Dense fluid or a higher relieving "
                "pressure make a large flow easy to pass.",
            "The closed outlet: it needs the largest area.":
                "You buy an area. 1400 mm² also pass what the other two bring, each at its own "
                "pressure.",
            "All three together: 3400 mm².":
                "They are three separate events. What does not come together is not added up; the "
                "largest single one counts.",
            "Tube rupture: it is the most violent.":
                "How sudden it is asks for a device that opens fast enough. That is another "
                "question than how large it must be; the largest area governs.",
        },
        "The closed outlet: it needs the largest area.",
        hint="What do you buy: flow or area?",
    ),
    *series(
        "short",
        "A cause brings {mass_flow} and needs {required_area}. Installed are {installed_area}, "
        "and all else about the valve is in order. How much of the flow can it not pass?",
        short,
        {"required_area": 2587e-6, "installed_area": 1840.6e-6,
         "mass_flow": Varies(4.75, 2.0, 9.0, 100)},
        "flow_short",
        "At one state, flow goes with area. Which part of the required area is there?",
        ("covered",),
        note="71 % of the area is there, so 71 % of the flow gets out. The rest stays, and raises "
             "the pressure.",
        why="Say it as a flow: a process engineer can ask where those kilograms may go instead.",
        slips=(
            another_way(lambda mass_flow, required_area, installed_area: mass_flow
                        * installed_area / required_area,
                        "that is what the valve still passes; asked is the rest"),
            another_way(lambda mass_flow, required_area, installed_area: mass_flow
                        * (required_area / installed_area - 1.0),
                        "the missing area was divided by the installed area, not by the required "
                        "one"),
        ),
    ),
    Value(
        "second set",
        "A vessel of MAWP {mawp_gauge} has two valves, neither for fire alone. The first one is "
        "set at MAWP. Where may the second be set at most?",
        second_set,
        {"mawp_gauge": Varies(16e5, 5e5, 40e5, 0.5)},
        "set_pressure_gauge",
        "One of them at MAWP or below; the further ones a little above. Gauge, and not 110 %.",
        why="With two valves the vessel may rise to 16 % above MAWP, so the second one still has "
            "room to open fully.",
        tolerance=0.003,
        slips=(
            another_way(lambda mawp_gauge: sp.highest_set(mawp_gauge, "fire supplement"),
                        "that limit is for an extra valve that answers to fire alone"),
            another_way(lambda mawp_gauge: mawp_gauge + sp.accumulation_limit(mawp_gauge,
                                                                            "multiple"),
                        "that is how far the vessel may rise, 16 % above MAWP, and no set "
                        "pressure"),
        ),
    ),
    Choice(
        "spare",
        "A vessel has one valve on duty and a spare of the same letter behind interlocked block "
        "valves. One valve carries 60 % of the load. Is the cause covered?",
        {
            "Covered: two times 60 % make 120 %.":
                "The interlock lets one valve at a time be open to the vessel. The spare stands "
                "behind a shut block valve.",
            "Not covered: 60 % of the area is open to the vessel.":
                "The spare is there to be swapped in for maintenance. It is never counted, "
                "however large it is.",
            "Covered, as soon as an operator opens the second block valve.":
                "The interlock forbids just that, and a person's action in the event is no "
                "relief device.",
        },
        "Not covered: 60 % of the area is open to the vessel.",
        hint="At the moment of the event: what is the spare open to?",
    ),
    Choice(
        "wider line",
        "A conventional valve is set at its vessel's MAWP. Others of the same event fill its "
        "header before it opens. A colleague puts in wider inlet and outlet lines, until both "
        "losses are within their limits. What do you say?",
        {
            "Now it covers: the lines were what was wrong.":
                "The lines are well now. But what others put behind a conventional valve helps its "
                "spring, and it opens above MAWP, too late.",
            "It still opens late; a balanced valve would open at its set pressure.":
                "Its bellows keeps the header's pressure off the disc. A wider line of its own "
                "does not change what others make.",
            "It needs a larger letter, which opens sooner.":
                "A letter says how much passes once the valve is open. At which pressure it "
                "opens is for the spring and what pushes beside it.",
        },
        "It still opens late; a balanced valve would open at its set pressure.",
        hint="Which pressure stands behind the disc before the valve has passed anything?",
    ),
    Choice(
        "six times",
        "In the matrix a valve covers every cause that is listed, the worst of them with six "
        "times the area. What do you make of it?",
        {
            "Well bought: the more area, the safer.":
                "Far too large a valve chatters on a small release, and its lines must carry all "
                "that it passes.",
            "It was bought for something that is not on the list. Find out what.":
                "Nobody pays for six times the area by chance. A cause may have been forgotten "
                "since, or the valve came from another service.",
            "Strike the smallest causes off the list: they can't matter.":
                "A small cause may ask for another phase, another destination or another header "
                "pressure. The matrix judges each one.",
        },
        "It was bought for something that is not on the list. Find out what.",
        hint="What did whoever bought it have in mind?",
    ),
    Choice(
        "trip in the matrix",
        "A cause brings 17 000 kg/h. No valve of the matrix covers it. A trip does: in time, "
        "sharing nothing, dependable enough for the company's target. What stands in the list of "
        "loads for this cause from now on?",
        {
            "0 kg/h: the trip keeps it from happening.":
                "It keeps most of them from happening. On the day on which it fails all of "
                "17 000 kg/h come.",
            "170 kg/h, since the trip fails once in a hundred demands.":
                "A hundredth of the flow never comes. It is all of it, once in a hundred times.",
            "17 000 kg/h, as before, and no valve covers it.":
                "A trip changes how often, not how much. Whether the cause may stay without a "
                "valve is for target, code and jurisdiction.",
        },
        "17 000 kg/h, as before, and no valve covers it.",
        hint="What comes on the day on which the trip fails?",
    ),
)  # fmt: skip
