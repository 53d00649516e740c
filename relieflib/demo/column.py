"""The depropaniser C-101 beside its cases, which stand in the plant's file: its heat and liquids.

One heat balance stands behind all causes of heat: reboiler, less condenser, less what the feed
takes to become products, makes vapour. At normal operation nothing is left over (`normal_heat`).
At the relieving pressure of the column the feed has stopped, since V-102 stands lower: what it
took, with the bottoms that went with it, is credited to no cause. Condenser and reflux count only
where the cause leaves them alone. What is left over boils the propane of the trays for a minute or
two (`in_time`), then the naphtha of the sump, which for each watt needs half as much area again:
that is what every cause of heat is sized for (`heat_left`).
"""

from relieflib.causes.loss_of_cooling import clean_reboiler_working
from relieflib.causes.shared.column_in_time import Column
from relieflib.demo.common import of_case, pressures, shell
from relieflib.exchanger import clean_coefficient
from relieflib.properties import State, molar_mass, saturation_temperature


def normal_heat(plant):
    """Heat flows of C-101 at normal operation [W]: in with the steam, out by two ways.

    Parameters: plant. Returns a dict of reboiler_duty, feed_deficit (what the feed takes to become
    distillate and bottoms) and remaining_cooling (the condenser), as `loss_of_cooling.net_heat`
    takes them: they close. Source: CoolProp, feed as its mixture of propane and n-hexane.
    """
    column, drum, s = plant["C-101"], plant["V-103"], plant.streams
    light, heavy = fluids(plant)
    n = s["10"].propane / molar_mass(light), s["10"].naphtha / molar_mass(heavy)
    x = n[0] / sum(n)
    bottom = plant.absolute(column.bottom_pressure_gauge)
    mixture = f"{light}[{x}]&{heavy}[{1.0 - x}]"
    feed = State(mixture, bottom, temperature=column.feed_temperature)
    bottoms = State(heavy, bottom, quality=0.0)
    distillate = State(light, plant.absolute(drum.operating_pressure_gauge), quality=0.0)
    products = s["15"].mass_flow * bottoms.enthalpy + s["13"].mass_flow * distillate.enthalpy
    return {
        "reboiler_duty": plant["E-103"].duty,
        "feed_deficit": products - s["10"].mass_flow * feed.enthalpy,
        "remaining_cooling": plant["E-102"].duty,
    }


def fluids(plant):
    """Fluids of the trays and of the sump, as CoolProp names them."""
    return plant.fluids["propane"].coolprop, plant.fluids["naphtha"].coolprop


def contents(plant, reflux=True):
    """The liquids of C-101 and V-103 while PSV-106 relieves, as `column_in_time.Column`.

    Parameters: plant; reflux, False where P-102 has stopped. On the trays as if all were propane:
    that lasts longest, so the naphtha comes no later than said. In the sump its normal level and
    what E-103 holds.
    """
    item, drum, reboiler = plant["C-101"], plant["V-103"], plant["E-103"]
    light, heavy = fluids(plant)
    cold = State(light, plant.absolute(drum.operating_pressure_gauge), quality=0.0)
    hot = State(heavy, plant.absolute(item.bottom_pressure_gauge), quality=0.0)
    sump = shell(item).volume_of(item.normal_level) + reboiler.cold_volume
    return Column(
        pressures(plant, item)[0], light, heavy,
        tray_liquid=item.trays * item.tray_holdup * cold.density,
        sump_liquid=sump * hot.density,
        drum_liquid=shell(drum).volume_of(drum.normal_level) * cold.density,
        reflux=plant.streams["12"].mass_flow if reflux else 0.0,
        reflux_temperature=drum.operating_temperature,
    )  # fmt: skip


def in_time(plant, reflux=True):
    """What leaves through PSV-106 after cooling is lost, spell by spell; see `contents`."""
    surface, hot = clean_reboiler(plant)[1:]
    item, P1 = plant["E-103"], pressures(plant, plant["C-101"])[0]
    boils = saturation_temperature(fluids(plant)[1], P1)
    duty = clean_reboiler_working(item.coefficient, item.fouling_resistance, surface, hot, boils)
    return contents(plant, reflux).stages(duty[-1].value)


def heat_left(plant):
    """Latent heat [J/kg] and stream of what all heat left over is sized for."""
    return contents(plant).governing[1:]


def clean_reboiler(plant):
    """Clean coefficient [W/(m2 K)] and surface [m2] of E-103, its steam at the highest [K]."""
    item, steam = plant["E-103"], plant.utilities["steam"]
    hot = saturation_temperature("Water", plant.absolute(steam.highest_pressure_gauge))
    return clean_coefficient(item.coefficient, item.fouling_resistance), item.area, hot


def cooling_lost(plant):
    """Load when E-102 condenses no more; the reflux of the first minutes is not counted on."""
    return of_case(plant, "C-101", "loss of cooling")
