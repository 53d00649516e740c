"""What 40 asks: the limit, the loss, the largest K, which flow counts, and what a pilot feels."""

from math import pi

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.lines.inlet import LOSS_LIMIT, SOURCE
from relieflib.slips import Slip
from relieflib.units import ATMOSPHERE
from relieflib.working import Working, step

NOTEBOOK = 40
WARM_UP = (("32", "too large"), ("30", "choked"))
FLUX = "W_rated/(pi/4*D**2)"

ABSOLUTE = Slip(
    "of absolute set", "3 % of the absolute set pressure was taken",
    lambda i: i | {"set_pressure_gauge": i["set_pressure_gauge"] + ATMOSPHERE}, common="often",
)  # fmt: skip
TENTH = Slip(
    "10 % for 3 %", "10 % was taken, the limit of built-up back pressure",
    lambda i: i | {"loss_limit": 0.10}, common="often",
)  # fmt: skip


def limit(set_pressure_gauge, loss_limit):
    """What the inlet line may lose."""
    may = loss_limit * set_pressure_gauge
    return Working([step("inlet_limit", may, "x_lim*pset", SOURCE, loss_limit=loss_limit,
                         set_pressure_gauge=set_pressure_gauge)])  # fmt: skip


def flux(rated_flow, diameter):
    """Mass flux in a bore, one step."""
    return step("pipe_flux", rated_flow / (pi / 4 * diameter**2), FLUX, "flow over area",
                rated_flow=rated_flow, diameter=diameter)  # fmt: skip


def loss(rated_flow, density, diameter, K):
    """Loss at one density."""
    G = flux(rated_flow, diameter)
    lost = K * G.value**2 / (2 * density)
    return Working([G, step("inlet_loss", lost, "K*G_p**2/(2*rho)", SOURCE, K=K,
                            pipe_flux=G.value, density=density)])  # fmt: skip


def largest_K(rated_flow, density, diameter, set_pressure_gauge, loss_limit):
    """Largest loss coefficient that the limit allows, at one density."""
    G, may = flux(rated_flow, diameter), limit(set_pressure_gauge, loss_limit)[0]
    most = 2 * density * may.value / G.value**2
    return Working([G, may, step("largest_K", most, "2*rho*dp_lim/G_p**2", SOURCE, density=density,
                                 inlet_limit=may.value, pipe_flux=G.value)])  # fmt: skip


QUESTIONS = (
    *series(
        "largest K",
        "A valve set at {set_pressure_gauge} passes {rated_flow} of a gas of {density} through a "
        "bore of {diameter}. The line may lose {loss_limit} of set. How large may the sum of its K "
        "be, at this density?",
        largest_K,
        {"rated_flow": Varies(3.38, 2.0, 6.0, 360), "density": 4.19, "diameter": 0.10226,
         "set_pressure_gauge": 16e5, "loss_limit": LOSS_LIMIT},
        "largest_K",
        "Flux first: flow over area. Then the limit in pascal. Then solve K G²/(2 rho) for K.",
        ("pipe_flux", "inlet_limit"),
        note="A flush entrance takes 0.5 of it, an elbow about 0.25; what is left is for pipe.",
        why="As the gas expands on its way, the true largest K is a little smaller still.",
        slips=(ABSOLUTE,),
    ),
    Value(
        "limit",
        "A valve is set at {set_pressure_gauge}. What may its inlet line lose, at {loss_limit}?",
        limit,
        {"set_pressure_gauge": Varies(16e5, 5e5, 40e5, 0.5), "loss_limit": LOSS_LIMIT},
        "inlet_limit",
        "Gauge or absolute?",
        why="3 % of gauge: blowdown, which the rule leans on, is stated in gauge too.",
        slips=(ABSOLUTE, TENTH),
    ),
    Value(
        "loss",
        "{rated_flow} of density {density} flow through {diameter}; entrance, pipe and elbow "
        "have K {K} together. What is lost, at that density?",
        loss,
        {"rated_flow": Varies(3.38, 1.0, 6.0, 360), "density": 4.19, "diameter": 0.0779, "K": 1.0},
        "inlet_loss",
        "Flux first: flow over area. Then K G²/(2 rho).",
        why="Twice the flow loses four times as much: that is why the rated flow matters.",
    ),
    Choice(
        "pilot",
        "A pilot senses the vessel through a line of its own. Does the 3 % rule limit the inlet "
        "of its valve?",
        {
            "It does: the rule is for every relief valve.":
                "The rule is there so that the valve does not shut by its own flow. This one "
                "never learns of the loss.",
            "It does not: the valve stays open, and the loss only takes capacity.":
                "The pilot sees the vessel. But size the valve with the pressure that is left "
                "at its inlet.",
            "It does not, and the loss need not be worked out at all.":
                "Less pressure at the inlet is less flow. The valve may then be too small for its "
                "load.",
        },
        "It does not: the valve stays open, and the loss only takes capacity.",
        hint="What makes a valve close?",
    ),
    Choice(
        "which flow",
        "The load is 10 518 kg/h. The spring-loaded valve passes 12 160 kg/h when it is open. At "
        "the load its inlet line loses 2.99 % of set, at 12 160 kg/h 4.08 %. Which one do you "
        "write down?",
        {
            "2.99 %: no more than the load can come.":
                "In the long run, yes. But the valve pops open and passes what it can, until "
                "it shuts for want of pressure: that is the chatter.",
            "4.08 %: the valve knows nothing of the load.":
                "Over the limit. A larger pipe or fewer fittings, or a pilot that modulates or "
                "senses the vessel.",
            "3.5 %: the mean of both, since the flow settles in between.":
                "It settles nowhere: a valve that pops is open or shut. The rule names the rated "
                "flow.",
        },
        "4.08 %: the valve knows nothing of the load.",
        hint="How far does a spring-loaded valve open?",
    ),
    Choice(
        "shared",
        "Two equal valves share a nozzle, and both are open. What does the nozzle lose, against "
        "one valve alone?",
        {
            "Twice as much: twice the flow.":
                "The flow doubles, and so does the flux. But the loss goes with the "
                "square of the flux.",
            "Four times as much: the loss goes with the square of the flow.":
                "And the nozzle must have at least the area of both inlets together.",
            "As much as before: each valve has its own 3 %.":
                "Each valve has its own limit, but both feel the loss of what they share.",
        },
        "Four times as much: the loss goes with the square of the flow.",
        hint="K G²/(2 rho): what doubles?",
    ),
    Choice(
        "next letter",
        "3L4 covers its load, and its line of NPS 4 loses 1.19 % of set. A colleague wants 4P6 in "
        "its place, for safety. What changes?",
        {
            "It is safer: the larger valve relieves more.":
                "It passes 27 193 kg/h in place of 12 160, through the same line: 6.67 % "
                "of set. It may chatter and break.",
            "It breaks the rule: more flow through the same line.":
                "6.67 % of set. The line must fit the valve, and the valve the load.",
            "The loss stays: the line is the same.":
                "The line is, the flow is not. It goes with the letter's area, the loss with the "
                "square.",
        },
        "It breaks the rule: more flow through the same line.",
        hint="Which flow is the loss worked out with?",
    ),
)  # fmt: skip
