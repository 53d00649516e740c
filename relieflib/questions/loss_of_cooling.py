"""What 16 asks: heat left over, the liquid that boils with it, and what still condenses."""

from relieflib.asking.question import Choice, Value, series
from relieflib.asking.variants import Varies
from relieflib.causes import loss_of_cooling as cooling
from relieflib.slips import Slip, used_instead
from relieflib.working import Working, step

NOTEBOOK = 16
WARM_UP = (("10", "area"), ("10", "credit"))


def load(coefficient, surface, hot_temperature, boiling_temperature, latent_heat):
    """From the pinched reboiler to the load; nothing else takes heat or gives any."""
    duty = cooling.reboiler_working(coefficient, surface, hot_temperature, boiling_temperature)
    return cooling.relief_load(duty[-1].value, latent_heat, None, working=duty).working


def balance(reboiler_duty, feed_deficit, bottoms_heat, latent_heat):
    """A heat balance whose feed and products go on."""
    out = {"feed_deficit": feed_deficit, "bottoms_heat": bottoms_heat}
    return cooling.relief_load(reboiler_duty, latent_heat, None, **out).working


def left_over(net_heat, latent_heat):
    """The last step alone: heat over latent heat."""
    return Working(cooling.relief_load(net_heat, latent_heat, None).working[-1:])


def draught(normal_duty):
    """What an air cooler keeps by natural draught."""
    duty = cooling.air_cooler_duty(normal_duty)
    return Working([step("heat_rate", duty, "x_nat*Q_n", cooling.SOURCE,
                         natural_fraction=cooling.NATURAL, normal_duty=normal_duty)])  # fmt: skip


QUESTIONS = (
    *series(
        "load",
        "A column relieves; nothing condenses any more, and the feed has stopped. Steam of "
        "{hot_temperature} heats a clean reboiler of {surface} with {coefficient}. At relieving "
        "pressure its bottom boils at {boiling_temperature} (190 °C on a normal day) and takes "
        "{latent_heat}. What is the load?",
        load,
        {
            "coefficient": Varies(1000.0, 700.0, 1500.0, 20.0), "surface": 43.0,
            "hot_temperature": 505.15, "boiling_temperature": 482.15, "latent_heat": 162e3,
        },
        "mass_flow",
        "First the heat, U A dT at relieving pressure; then heat over latent heat.",
        ("reboiler_duty", "net_heat"),
        note="23 K are left between steam and bottom, where 42 K would be at normal pressure: the "
             "pinch may be credited, with a clean surface and the hottest steam.",
        why="Colder bottoms, dirtier steam or a lighter liquid later, and this load is another.",
        slips=(
            used_instead("boiling_temperature", 463.15,
                         "the bottom was taken at its normal pressure; while it relieves it boils "
                         "hotter"),
        ),
    ),
    Value(
        "balance",
        "Another column, whose feed is pumped and surely goes on. At relieving pressure the "
        "reboiler gives {reboiler_duty}, the feed takes up {feed_deficit}, products carry away "
        "{bottoms_heat}. Latent heat {latent_heat}. What is the load?",
        balance,
        {"reboiler_duty": Varies(10e6, 6e6, 20e6, 500.0), "feed_deficit": 1.5e6,
         "bottoms_heat": 0.8e6, "latent_heat": 300e3},
        "mass_flow",
        "What is left over once all that surely takes heat has taken it?",
        why="Each credit here needs its own proof: that this very failure leaves it alone.",
        slips=(
            used_instead("feed_deficit", 0.0, "what the feed takes up was not deducted"),
            used_instead("bottoms_heat", 0.0, "what the products carry away was not deducted"),
        ),
    ),
    Value(
        "liquid",
        "Heat left over {net_heat}, no reflux. The trays' propane (262 kJ/kg) is gone after a "
        "minute; the sump holds naphtha of {latent_heat}. For which load is the valve sized?",
        left_over,
        {"net_heat": Varies(1.1e6, 0.6e6, 2e6, 20.0), "latent_heat": 161.5e3},
        "mass_flow",
        "Which liquid is left after the first minute?",
        why="The valve must carry the largest flow, however short it lasts.",
        slips=(
            used_instead("latent_heat", 262e3,
                         "latent heat of the propane: its trays are dry within two minutes"),
        ),
    ),
    Value(
        "air cooler",
        "An air cooler of {normal_duty} loses its fans; the louvres stay open. Which duty stays, "
        "by the middle of the customary range?",
        draught,
        {"normal_duty": Varies(4e6, 1e6, 9e6, 100.0)},
        "heat_rate",
        "Natural draught keeps 20 to 30 %.",
        why="With louvres that shut when the air fails, nothing stays.",
        slips=(
            Slip("the part lost", "that is the part that is lost", scale=3.0, common="often"),
        ),
    ),
    Choice(
        "reflux",
        "The reflux pump stops; the cooling water runs on. What becomes of the condensing?",
        {
            "All of it is lost at once.":
                "Vapour still finds cold tubes, until the condensate that nobody pumps away has "
                "filled the drum and reached them.",
            "It goes on until condensate has flooded drum and tubes; then all is lost.":
                "On the demo plant that takes ten minutes. The valve is sized for what comes "
                "then; the minutes count only for an operator with an alarm.",
            "Nothing: the water still cools.":
                "A tube under liquid condenses no vapour. Where does the condensate go, once "
                "nobody pumps it away?",
        },
        "It goes on until condensate has flooded drum and tubes; then all is lost.",
        hint="Where does the condensate go?",
    ),
    Choice(
        "feed",
        "C-101 relieves at 19.8 barg. Its feed comes by pressure alone from V-102, which stands "
        "at 17 barg. On a normal day the feed takes up 825 kW. How much of it is credited in loss "
        "of cooling?",
        {
            "All 825 kW: the feed valve stays open.":
                "Open it may be, but nothing flows from 17 to 19.8 barg. A credit must hold at "
                "relieving pressure.",
            "Half of it, since the flow falls as the pressure rises.":
                "The flow does fall, and at 17 barg it is nothing. The valve begins to open only "
                "at 18.",
            "Nothing: at relieving pressure no feed comes in.":
                "With it goes the heat that it took up; so at relieving pressure more is left "
                "over, not less.",
        },
        "Nothing: at relieving pressure no feed comes in.",
        hint="Compare the two pressures while the valve relieves.",
    ),
)  # fmt: skip
