"""Loss of cooling of a column or condenser: the reboiler goes on making vapour.

Which load (API 521 (2020), 4.4.3, 5th edition 5.6, read and from memory): all condensing lost: all
vapour that would come to the condenser at relieving conditions; part lost: that less what still
condenses; reflux lost: the condenser floods and it is all lost (`time_to_flood`); pump-around
lost: the vapour of the heat it took out; side reflux lost: vapour that enters the section less
what leaves it, as `condenser_load`; fans of an air cooler stopped: part of the duty stays by
natural draught, none with shut louvres; gas that does not condense gathers: the same failure seen
from inside, all lost unless a vent is proved open (4.4.5). Every duty is taken at relieving
pressure, where boiling points lie higher and a reboiler may pinch. The balance must close at normal
operation first; then it is seen what stops with the failure, such as a feed of lower pressure. Heat
left over boils the liquid of the trays only as long as there is some: `shared.column_in_time`.
"""

import numpy as np

from relieflib import exchanger
from relieflib.errors import not_negative, positive, refuse, result
from relieflib.properties import saturation_temperature
from relieflib.sizing import ReliefLoad
from relieflib.working import Working, step

NOTEBOOK = 16
PUBLISHED = {
    "loss of cooling or reflux": ("4.4.3", "5.6"),
    "loss of absorbent": ("4.4.4", "5.7"),
    "accumulation of non-condensables": ("4.4.5", "5.8"),
}

SOURCE = "API 521 (2020), 4.4.3"
CAUSE = "loss_of_cooling"
NATURAL = 0.25  # of normal duty, an air cooler with its fans stopped: 20 to 30 %


def reboiler_working(coefficient, surface, hot_temperature, boiling_temperature):
    """Duty of a condensing-steam reboiler at relieving pressure, as a `Working` of one step.

    Parameters: coefficient [W/(m2 K)], surface [m2], hot_temperature of the condensing steam,
    boiling_temperature of the bottom liquid at relieving pressure [K]; arrays broadcast. Returns
    Working; the duty is 0 where the reboiler pinches out. Raises InputError, validity: as
    `exchanger.duty`. Source: API 521 (2020), 4.4.3 and 4.4.9: pinch may be credited; Q = U A dT.
    >>> round(reboiler_working(900.0, 43.0, 497.0, 487.0)[0].value)
    387000
    """
    duty = exchanger.duty(coefficient, surface, hot_temperature, boiling_temperature)
    return Working([step("reboiler_duty", duty, "U*A_x*max(T_h - T_b, 0)", SOURCE + "; pinch",
                         coefficient=coefficient, surface=surface, hot_temperature=hot_temperature,
                         boiling_temperature=boiling_temperature)])  # fmt: skip


def clean_reboiler_working(coefficient, fouling_resistance, surface, hot_temperature,
                           boiling_temperature):  # fmt: skip
    """Duty of a clean reboiler at relieving pressure, as a `Working` of two steps.

    Parameters: coefficient in service [W/(m2 K)]; fouling_resistance in it [m2 K/W]; the rest as
    `reboiler_working`. Returns Working. Raises InputError as `exchanger.clean_coefficient` and
    `reboiler_working`. Source: API 521 (2020), 4.4.3 and 4.4.9: who credits the pinch takes the
    surface as clean.
    >>> round(clean_reboiler_working(900.0, 0.0002, 43.0, 497.0, 487.0)[-1].value)
    471951
    """
    U = exchanger.clean_coefficient(coefficient, fouling_resistance)
    first = step("clean_coefficient", U, "U/(1 - U*r_foul)", "clean surface: API 521 (2020), 4.4.9",
                 coefficient=coefficient, fouling_resistance=fouling_resistance)  # fmt: skip
    duty = reboiler_working(U, surface, hot_temperature, boiling_temperature)
    return Working([first, *duty])


def net_heat(reboiler_duty, other_duty=0.0, feed_deficit=0.0, bottoms_heat=0.0,
             remaining_cooling=0.0):  # fmt: skip
    """Heat left to make vapour in a column, by a balance at relieving conditions.

    Parameters, all heat flows [W]: reboiler_duty and other_duty in; feed_deficit, what the feed
    takes up to reach its relieving state; bottoms_heat that products carry away above the feed;
    remaining_cooling still taken out. Arrays broadcast. Returns W, 0 at least. Raises InputError
    for a negative or infinite flow. Validity: steady state at relieving pressure.
    Source: API 521 (2020), 4.4.3: heat balance.
    >>> net_heat(10e6, feed_deficit=1.5e6, bottoms_heat=0.8e6)
    7700000.0
    """
    given = dict(reboiler_duty=reboiler_duty, other_duty=other_duty, feed_deficit=feed_deficit,
                 bottoms_heat=bottoms_heat, remaining_cooling=remaining_cooling)  # fmt: skip
    Q_reb, Q_oth, *out = not_negative(**given)
    return result(np.maximum(Q_reb + Q_oth - sum(out), 0.0))


def relief_load(reboiler_duty, latent_heat, stream, other_duty=0.0, feed_deficit=0.0,
                bottoms_heat=0.0, remaining_cooling=0.0, working=()):  # fmt: skip
    """Load of a column that has lost cooling: net heat over the latent heat of what boils.

    Parameters: latent_heat at relieving pressure [J/kg] of the liquid whose vapour needs the
    largest area, seldom that of the top product once the trays are dry; stream, its vapour; the
    rest as `net_heat`; working, steps that led to them. Arrays broadcast. Returns `ReliefLoad`.
    Raises InputError as `net_heat`, or for a latent heat not above 0. Validity: one liquid takes
    all the heat; which one, and when, by `shared.column_in_time`. Source: API 521 (2020), 4.4.3.
    >>> from relieflib.nozzle.gas import Gas
    >>> load = relief_load(10e6, 300e3, Gas(20e5, 330.0, molar_mass=44.1, k=1.1),
    ...                    feed_deficit=1.5e6,
    ...                    bottoms_heat=0.8e6)
    >>> round(load.mass_flow * 3.6, 1)
    92.4
    """
    given = dict(reboiler_duty=reboiler_duty, other_duty=other_duty, feed_deficit=feed_deficit,
                 bottoms_heat=bottoms_heat, remaining_cooling=remaining_cooling)  # fmt: skip
    heat, h = net_heat(**given), positive(latent_heat=latent_heat)
    flow = result(heat / h)
    lines = [
        step("net_heat", heat, "max(Q_reb + Q_oth - Q_def - Q_bot - Q_rem, 0)", SOURCE, **given),
        step("mass_flow", flow, "Q_net/h_v", SOURCE, net_heat=heat, latent_heat=latent_heat),
    ]
    return ReliefLoad(CAUSE, flow, stream, working=Working([*working, *lines]))


def condenser_load(vapor_inflow, stream, condensed=0.0, working=()):
    """Load of a condenser that fails wholly or in part: vapour that comes less what condenses.

    Parameters: vapor_inflow to the condenser at relieving conditions [kg/s]; stream; condensed,
    what still condenses [kg/s], 0 for a total failure; working. Arrays broadcast. Returns
    `ReliefLoad`. Raises InputError for a negative flow. Source: API 521 (2020), 4.4.3.
    >>> from relieflib.nozzle.gas import Gas
    >>> condenser_load(2.0, Gas(20e5, 330.0, molar_mass=44.1, k=1.1), condensed=0.5).mass_flow
    1.5
    """
    W, out = not_negative(vapor_inflow=vapor_inflow, condensed=condensed)
    flow = result(np.maximum(W - out, 0.0))
    line = step("mass_flow", flow, "max(W_vin - W_con, 0)", SOURCE, vapor_inflow=vapor_inflow,
                condensed=condensed)  # fmt: skip
    return ReliefLoad(CAUSE, flow, stream, working=Working([*working, line]))


def lost_duty_load(lost_duty, latent_heat, stream, working=()):
    """Load of a lost pump-around, side cooler or intercooler: the vapour of its heat.

    Parameters: lost_duty, heat it took out at relieving conditions [W]; latent_heat of the liquid
    there [J/kg]; stream, its vapour; working. Arrays broadcast. Returns `ReliefLoad`. Raises
    InputError for a negative duty. Source: API 521 (2020), 4.4.3.
    >>> from relieflib.nozzle.gas import Gas
    >>> lost_duty_load(6e5, 3e5, Gas(20e5, 330.0, molar_mass=44.1, k=1.1)).mass_flow
    2.0
    """
    Q, h = not_negative(lost_duty=lost_duty), positive(latent_heat=latent_heat)
    line = step("mass_flow", result(Q / h), "Q_lost/h_v", SOURCE, lost_duty=lost_duty,
                latent_heat=latent_heat)  # fmt: skip
    return ReliefLoad(CAUSE, result(Q / h), stream, working=Working([*working, line]))


def time_to_flood(free_volume, volume_flow):
    """Time in which condensate that is no longer pumped away floods drum and condenser.

    Parameters: free_volume between normal level and flooded tubes [m3]; volume_flow of condensate
    [m3/s]; arrays broadcast. Returns s; infinite without condensate. Raises InputError for a value
    below 0. Validity: reflux and product both stopped. After that the load is that of a total loss.
    API 521 (2020), 4.4.3, lets some 10 minutes count for an operator's act (from memory).
    Source: volume over flow.
    >>> time_to_flood(3.0, 0.005)
    600.0
    """
    V, q = not_negative(free_volume=free_volume, volume_flow=volume_flow)
    return result(np.where(q == 0, np.inf, V / np.where(q == 0, 1.0, q)))  # guard: no 0/0


def air_cooler_duty(normal_duty, louvres_shut=False, natural_fraction=NATURAL):
    """Duty that an air cooler keeps with its fans stopped.

    Parameters: normal_duty [W]; louvres_shut True where they shut with the failure; then nothing
    stays; natural_fraction, 0.25 by default, 0.2 to 0.3 usual [-]. Arrays broadcast. Returns W.
    Raises InputError for a negative duty or a fraction above 1. Source: API 521 (2020), 4.4.3:
    20 to 30 % of normal duty by natural draught, where no better value is at hand (from memory).
    >>> air_cooler_duty(4e6), air_cooler_duty(4e6, louvres_shut=True)
    (1000000.0, 0.0)
    """
    Q, x = not_negative(normal_duty=normal_duty, natural_fraction=natural_fraction)
    refuse(x > 1.0, "natural_fraction", x, "must be 1 at most")
    return result(Q * x * (0.0 if louvres_shut else 1.0))


def blanketed_duty(fluid, pressure, gas_fraction, coefficient, surface, cooling_temperature):
    """Duty of a condenser in which gas has gathered that does not condense.

    Parameters: fluid that condenses; pressure [Pa]; gas_fraction, mole fraction of the gas at the
    surface [-], below 1; coefficient [W/(m2 K)]; surface [m2]; cooling_temperature, mean of the
    cooling side [K]. Arrays broadcast. Returns W, 0 where the fluid's dew point has fallen to the
    cooling side. Raises InputError as `saturation_temperature`. Validity: an upper bound, as the
    coefficient falls too; for sizing the duty counts as lost unless a vent is proved open.
    Source: Dalton's law; API 521 (2020), 4.4.5 (5th edition, 5.8).
    >>> [round(blanketed_duty("Propane", 15e5, y, 600.0, 86.0, 306.15) / 1e3) for y in (0.0, 0.2)]
    [567, 71]
    """
    y = not_negative(gas_fraction=gas_fraction)
    refuse(y >= 1.0, "gas_fraction", y, "must be below 1")
    P, U, A, T = positive(pressure=pressure, coefficient=coefficient, surface=surface,
                          cooling_temperature=cooling_temperature)  # fmt: skip
    dew = np.asarray(saturation_temperature(fluid, result(P * (1.0 - y))))
    lead = np.maximum(dew - T, 0.0)
    return result(U * A * lead)
