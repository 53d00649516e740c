"""Release into the air and the choice of a destination: jets, plumes, phases behind the valve."""

import numpy as np
import pytest

from relieflib import rules
from relieflib.disposal import destination as to, release as air
from relieflib.disposal.finding import FAILS, HOLDS, UNKNOWN
from relieflib.disposal.hazards import Hazards
from relieflib.errors import InputError, ValidityWarning
from relieflib.lines.reaction import gas_force
from relieflib.nozzle.gas import Gas
from relieflib.nozzle.liquid import Liquid
from relieflib.nozzle.real_fluid import RealFluid
from relieflib.nozzle.steam import Steam
from relieflib.nozzle.two_phase import TwoPhase

# lower flammable limits: common handbook values, from memory
PROPANE, METHANE, HEXANE = (44.1, 0.021), (16.04, 0.050), (86.18, 0.011)


# ------------------------------------------------------------ dilution
@pytest.mark.parametrize("gas, rule, with_density", [
    (PROPANE, 119.75, 121.91), (METHANE, 133.73, 82.107), (HEXANE, 118.23, 168.26),
])  # fmt: skip
def test_about_120_diameters_by_the_standard(gas, rule, with_density):
    # API 521, W/W0 = 0.264 y/d, from memory; Ricou and Spalding (1961): 0.32 y/d sqrt(rho_a/rho_j)
    M, limit = gas
    Y = air.mass_fraction(limit, M)
    assert 1 / Y == pytest.approx(1 + (1 - limit) / limit * 28.96 / M)
    assert air.diameters_to_limit(Y) == pytest.approx(rule, abs=0.01)
    # a jet of 1 m at the temperature of the air: W = rho u A, J = W u
    rho_a, u = 1.2, 100.0
    W = rho_a * M / 28.96 * u * np.pi / 4
    length = air.dilution_length(W, W * u, Y, rho_a, on_axis=False)
    assert length == pytest.approx(with_density, rel=2e-4)


def test_entrainment_as_it_was_measured():
    # Ricou and Spalding print dm/dx = 0.282 sqrt(rho M) and m/m0 = 0.32 (x/d) sqrt(rho/rho0)
    W, J, rho = 2.0, 500.0, 1.2
    grown = 1 / air.mass_fraction(0.02, 30.0)
    length = air.dilution_length(W, J, air.mass_fraction(0.02, 30.0), rho, on_axis=False)
    assert grown * W / length == pytest.approx(0.282 * np.sqrt(J * rho), rel=0.01)


def test_the_axis_is_richer_than_the_mean():
    # Gaussian profiles, velocity exp(-94 x^2), concentration exp(-57 x^2) (Chen and Rodi): the
    # mean over the flow is 94/(94 + 57) of the axis
    W, J, Y = 2.0, 500.0, 0.05
    mean, axis = (air.dilution_length(W, J, Y, 1.2, on_axis=on) for on in (False, True))
    assert axis / mean == pytest.approx((94 + 57) / 94, rel=0.10)
    assert axis > mean


def test_a_heavy_jet_turns_back():
    # Turner (1966), 2.46 w/sqrt(g' r) r in radii, from memory; salt in water: small differences
    r, w, rho, rho_a = 0.05, 20.0, 1.212, 1.2
    W = rho * w * np.pi * r**2
    by_hand = 2.46 * w / np.sqrt(9.80665 * (rho - rho_a) / rho_a / r) * 1.0
    assert air.jet_rise(W, W * w, rho, rho_a) == pytest.approx(by_hand, rel=0.01)
    assert air.jet_rise(W, W * w, 1.1, rho_a) == np.inf
    assert np.isnan(air.jet_rise(np.nan, W * w, rho, rho_a))


# ------------------------------------------------------------ the open end
GAS = Gas(22e5, 311.0, molar_mass=10.74, k=1.29)
COLD = dict(air_temperature=288.15)


def test_a_slow_jet_by_hand():
    # 0.05 kg/s through 100 mm: incompressible within 0.1 %, by hand
    jet = air.jet_of(0.05, Gas(2e5, 300.0, molar_mass=28.96, k=1.4), 0.1, air_temperature=300.0)
    rho, A = 101325 * 28.96 / (8314.46 * 300.0), np.pi / 4 * 0.01
    assert not jet.choked and jet.exit_pressure == 101325.0
    assert jet.exit_velocity == pytest.approx(0.05 / rho / A, rel=1e-3)
    assert jet.jet_momentum == pytest.approx(0.05**2 / rho / A, rel=1e-3)
    assert jet.equivalent_diameter == pytest.approx(0.1, rel=1e-3)
    assert jet.air_density == pytest.approx(rho)
    assert jet.reynolds(1.8e-5) == pytest.approx(4 * 0.05 / (np.pi * 0.1 * 1.8e-5))


def test_a_choked_jet_by_the_formula_of_the_standard():
    # API 520-II, 7.7: reaction force of a choked exit, and the speed of sound there
    jet = air.jet_of(3.0, GAS, 0.0779)
    A = np.pi / 4 * 0.0779**2
    assert jet.choked
    assert jet.jet_momentum == pytest.approx(gas_force(3.0, 1.29, 311.0, 10.74, A), rel=1e-9)
    T = 311.0 * 2 / 2.29
    assert jet.exit_velocity == pytest.approx(np.sqrt(1.29 * 8314.46 * T / 10.74), rel=1e-5)
    # W = rho u A at the state found, and the expanded jet carries the same flow and momentum
    rho = jet.exit_pressure * 10.74 / (8314.46 * T)
    assert rho * jet.exit_velocity * A == pytest.approx(3.0, rel=1e-5)
    wide = np.pi / 4 * jet.equivalent_diameter**2
    assert 3.0**2 / (jet.exit_density * wide) == pytest.approx(jet.jet_momentum)
    for line in jet.working:
        if line.equation:
            assert line.evaluate() == pytest.approx(line.value, rel=1e-9)


def test_more_flow_is_a_longer_jet_and_more_bore_a_shorter_exit():
    flows = np.array([0.5, 1.0, 2.0, 4.0])
    jets = air.jet_of(flows, GAS, 0.0779)
    Y = air.mass_fraction(0.04, 10.74)
    lengths = air.dilution_length(flows, jets.jet_momentum, Y, jets.air_density)
    assert np.all(np.diff(jets.jet_momentum) > 0) and np.all(np.diff(lengths) > 0)
    one = air.jet_of(2.0, GAS, 0.0779)
    assert one.jet_momentum == pytest.approx(jets.jet_momentum[2], rel=1e-12)
    assert np.all(np.diff(air.jet_of(1.0, GAS, np.array([0.05, 0.1, 0.2])).jet_momentum) < 0)
    with pytest.raises(InputError, match="makes no jet"):
        air.jet_of(1.0, Liquid(5e5, 700.0), 0.1)


# ------------------------------------------------------------ gates
KNOWN = Hazards(flammable=True, toxic=False, flammable_limit=0.04, autoignition_temperature=723.0)
LPG = Hazards(flammable=True, toxic=False, flammable_limit=0.021, autoignition_temperature=723.0)
HEAVY = Gas(15e5, 300.0, molar_mass=44.1, k=1.13)


def checked(flow=3.0, gas=GAS, hazards=KNOWN, wind=10.0, viscosity=1.1e-5, **more):
    jet = air.jet_of(flow, gas, 0.0779)
    return air.check(jet, hazards, wind, 18.0, gas_viscosity=viscosity, **more)


def test_reynolds_number_that_the_rule_asks_for():
    # API 521, 1.54e4 rho_j/rho_a: propane 23 451, methane 8530 at equal temperatures, from memory
    for M, least in ((44.1, 23_451.0), (16.04, 8529.6)):
        assert rules.JET_REYNOLDS.value * M / 28.96 == pytest.approx(least, rel=1e-4)


def test_a_fast_light_jet_dilutes_itself():
    found = checked()
    assert found.verdict == HOLDS
    assert all(f.holds for f in found.findings)
    # 1 + (1 - y)/y 28.96/M of flow at 2 % and at 4 %, by hand; both beyond the standard's mean
    further = (1 + 49 * 28.96 / 10.74) / (1 + 24 * 28.96 / 10.74)
    assert found.half_length / found.flammable_length == pytest.approx(further)
    assert found.flammable_length > found.jet.length_to(0.04, on_axis=False)


def test_edges_of_the_rule():
    # 30 m/s and ten times the wind, API 521 from memory
    area, rho = np.pi / 4 * 0.0779**2, 101325 * 10.74 / (8314.46 * 311.0)
    slow, fast = (checked(flow=u * rho * area, wind=1.0) for u in (29.5, 30.5))
    assert slow.about("exit velocity").holds is False and slow.verdict == air.NOT_HERE
    assert fast.about("exit velocity").holds is True
    u = checked().jet.exit_velocity
    assert checked(wind=u / 10.1).about("wind").holds
    assert checked(wind=u / 9.9).verdict == air.NOT_HERE
    assert checked(viscosity=None).verdict == air.NOT_HERE
    least = 15_400 * checked().jet.exit_density / checked().jet.air_density
    thick = checked().jet.reynolds(1e-5) * 1e-5
    assert checked(viscosity=thick / (1.01 * least)).about("Reynolds number").holds
    assert not checked(viscosity=thick / (0.99 * least)).about("Reynolds number").holds


def test_a_heavy_jet_that_turns_back_while_it_burns_is_not_answered():
    strong, weak = (checked(flow, HEAVY, LPG, wind=1.0) for flow in (6.0, 0.28))
    assert strong.about("heavy gas").holds and strong.verdict == HOLDS
    assert weak.about("exit velocity").holds and not weak.about("heavy gas").holds
    assert weak.verdict == air.NOT_HERE


@pytest.mark.parametrize("more, subject", [
    (dict(phase="two-phase"), "liquid"), (dict(phase="liquid"), "liquid"),
    (dict(hazards=Hazards(flammable=True, toxic=True, flammable_limit=0.04,
                          autoignition_temperature=723.0)), "poison"),
    (dict(gas=Gas(22e5, 690.0, molar_mass=10.74, k=1.29)), "autoignition"),
])  # fmt: skip
def test_never_into_the_air(more, subject):
    # liquid, toxic, near autoignition: API 521, atmospheric discharge, from memory
    found = checked(**more)
    assert found.verdict == FAILS and found.about(subject).holds is False


def test_what_is_not_given_is_never_taken_as_harmless():
    for hazards in (Hazards(), Hazards(flammable=True, toxic=False)):
        assert checked(hazards=hazards).verdict == UNKNOWN
    assert checked(hazards=Hazards(flammable=False)).verdict == UNKNOWN
    assert checked(hazards=Hazards(flammable=False, toxic=False)).verdict == HOLDS
    assert checked(phase="not known").verdict == UNKNOWN


# ------------------------------------------------------------ cloud, platforms, plume
def test_a_calm_jet_stands_straight_and_ends_where_it_is_thin():
    jet = air.jet_of(3.0, GAS, 0.0779)
    calm = air.cloud(jet, 18.0, 0.0, 0.02)
    assert np.all(calm.distances == 0)
    assert calm.heights[-1] == pytest.approx(18.0 + jet.length_to(0.02))
    assert calm.radii[-1] == pytest.approx(0.5 * jet.equivalent_diameter)
    # widest where d/ds (s^2 ln(S/s)) = 0: s = S/sqrt(e), r = s sqrt(0.5/57); closed form
    S = jet.length_to(0.02)
    widest = S / np.sqrt(np.e) * np.sqrt(0.5 / 57.0) + 0.5 * jet.equivalent_diameter
    assert calm.radii.max() == pytest.approx(widest, rel=1e-3)
    # a platform beside the widest place: outside by its distance less the radius
    assert calm.clearance(10.0, 18.0 + S / np.sqrt(np.e)) == pytest.approx(10 - widest, abs=0.02)


def test_the_bent_jet_follows_the_published_curve():
    # z = 2.05 x^0.28 in jet diameters times sqrt(momentum ratio) (Pratte and Baines, 1967, as
    # Brzustowski, 1976): x = 8.27178, z = 3.70409, worked in an example of a flare (read)
    jet = air.jet_of(3.0, GAS, 0.0779)
    bent = air.cloud(jet, 0.0, 20.0, 0.002)
    scale = np.sqrt(4 * jet.jet_momentum / (np.pi * jet.air_density)) / 20.0
    at = np.interp(3.70409 * scale, bent.heights, bent.distances)
    assert at / scale == pytest.approx(8.27178, rel=2e-3)
    # its length is what was asked for
    walked = np.hypot(np.diff(bent.distances), np.diff(bent.heights)).sum()
    assert walked == pytest.approx(bent.lengths[-1], rel=2e-3)


def test_a_platform_in_the_way_is_found_in_the_wind_that_brings_it():
    far = checked(platforms=[(30.0, 10.0)])
    near = checked(platforms=[(4.0, 30.0)])
    assert far.verdict == HOLDS and near.verdict == FAILS
    assert near.about("platform 4 m off, 30 m up").holds is False
    low = air.check(far.jet, KNOWN, 10.0, 0.0, gas_viscosity=1.1e-5)
    assert low.about("grade").holds is False


def test_turners_first_problem():
    # Turner, Workbook (1970), problem 1: 3 g/s at 7 m/s, class D; 5.6e-5, 1.1e-5 g/m3 printed
    for spread, printed in (((76.0, 32.0), 5.6e-5), ((190.0, 65.0), 1.1e-5)):
        c = air.plume_concentration(3e-3, 7.0, *spread) * 1e3
        assert c == pytest.approx(printed, rel=0.01)
    # Briggs' lines against Turner's curves, read to 20 %
    for x, curve in ((1000.0, (76.0, 32.0)), (3000.0, (190.0, 65.0))):
        assert air.plume_spread(x, "D") == pytest.approx(curve, rel=0.20)


def test_highest_at_grade_by_the_textbook():
    # sigma_z = H/sqrt(2), c = 2 W/(pi e u H^2) sigma_z/sigma_y where their ratio stays: class A
    # close by, 0.20/0.22 sqrt(1 + 1e-4 x)
    H, W, u = 40.0, 1.0, 2.0
    c, x = air.highest_at_grade(W, u, H, "A")
    ratio = 0.20 / 0.22 * np.sqrt(1 + 1e-4 * x)
    assert c == pytest.approx(2 * W / (np.pi * np.e * u * H**2) * ratio, rel=1e-3)
    assert x == pytest.approx(H / np.sqrt(2) / 0.20, rel=0.01)
    assert air.highest_at_grade(W, u, 50.0, "A")[0] < c
    with pytest.warns(ValidityWarning, match="100 m to 10 km"):
        air.plume_spread(50.0)


# ------------------------------------------------------------ destinations
P_LOW = 106_325.0
FLARE = to.Place("FH", "flare", takes=("gas",), lowest_pressure=P_LOW, lowest_temperature=227.0,
                 has_drum=True)  # fmt: skip
WET_FLARE = to.Place("wet FH", "flare", takes=("gas", "liquid"), lowest_pressure=P_LOW,
                     lowest_temperature=227.0, has_drum=True, wet=False)  # fmt: skip
DRAIN = to.Place("CD", "closed drain", takes=("liquid",), lowest_pressure=P_LOW,
                 lowest_temperature=244.0, highest_temperature=423.0, vented=True)  # fmt: skip
BACK = to.Place("suction", "process", takes=("liquid",), lowest_pressure=3e5,
                lowest_temperature=244.0, protected=True)  # fmt: skip
AIR = to.Place("ATM", "atmosphere", takes=("gas",))
MILD = Hazards(flammable=True, toxic=False, sets_solid=False, wet=False)
NAPHTHA = Liquid(20e5, 640.0, saturation_pressure=3e4)
HOT_LPG = RealFluid("Propane", 20e5, temperature=316.15)


def verdicts(stream, hazards=MILD, places=(FLARE, WET_FLARE, DRAIN, BACK, AIR), **more):
    return {name: r.verdict for name, r in to.compare(stream, hazards, places, **more).items()}


def test_cold_liquid_that_stays_liquid():
    # common practice: closed drain or back to process; never to a flare for gas, or the air
    found = verdicts(NAPHTHA, temperature=300.0)
    assert found == {"FH": FAILS, "wet FH": HOLDS, "CD": HOLDS, "suction": HOLDS, "ATM": FAILS}


def test_liquid_that_boils_on_the_way():
    # propane of 43 °C: half of it is vapour at -41 °C (R-290 tables: boils at -42.1 °C at 1 atm)
    found = to.compare(HOT_LPG, MILD, [FLARE, WET_FLARE, DRAIN, AIR])
    assert found["CD"].about("phase").holds is False
    assert found["CD"].about("temperature").holds is False
    assert found["FH"].verdict == FAILS and found["wet FH"].verdict == HOLDS
    assert found["ATM"].verdict == FAILS
    warm = to.Place("mild steel", "flare", takes=("gas", "liquid"), lowest_pressure=P_LOW,
                    lowest_temperature=244.0, has_drum=True)  # fmt: skip
    assert to.route(HOT_LPG, MILD, warm).about("temperature").holds is False


def test_the_phase_before_the_valve_would_have_said_otherwise():
    # the slip of this subject: at the inlet it is a liquid, and a drain takes liquid
    assert HOT_LPG.inlet_kind == "liquid" and "liquid" in DRAIN.takes
    assert to.phase_fits(HOT_LPG, DRAIN.takes, P_LOW, "CD").holds is False


def test_no_vapour_pressure_is_not_known():
    assert to.phase_fits(Liquid(20e5, 640.0), ("liquid",), P_LOW, "CD").holds is None
    assert to.phase_fits(Liquid(20e5, 640.0), ("gas",), P_LOW, "FH").holds is False
    assert to.phase_fits(Liquid(20e5, 640.0), ("gas", "liquid"), P_LOW, "FH").holds is True
    assert to.phase_fits(GAS, None, P_LOW, "?").holds is None


def test_gas_to_the_flare_and_to_the_air_only_by_its_jet():
    gas = Gas(22e5, 311.0, molar_mass=10.74, k=1.29)
    assert verdicts(gas)["FH"] == HOLDS and verdicts(gas)["CD"] == FAILS
    assert verdicts(gas)["ATM"] == UNKNOWN
    good, slow = checked(), checked(flow=0.01, wind=1.0)
    assert verdicts(gas, releases={"ATM": good})["ATM"] == HOLDS
    assert verdicts(gas, releases={"ATM": slow})["ATM"] == air.NOT_HERE
    toxic = Hazards(flammable=True, toxic=True, sets_solid=False, wet=False)
    assert verdicts(gas, toxic, releases={"ATM": good})["ATM"] == FAILS
    assert verdicts(gas, toxic)["FH"] == HOLDS


def test_steam_and_air_to_a_safe_place():
    harmless = Hazards(flammable=False, toxic=False, sets_solid=False, wet=True)
    assert verdicts(Steam(11e5), harmless, [AIR])["ATM"] == HOLDS
    assert verdicts(Gas(8e5, 300.0, molar_mass=28.96, k=1.4), harmless, [AIR])["ATM"] == HOLDS
    assert verdicts(Liquid(8e5, 998.0, saturation_pressure=5e3), harmless, [AIR])["ATM"] == FAILS


def change(place, **fields):
    own = {k: getattr(place, k) for k in place.__dataclass_fields__}
    return to.Place(own.pop("name"), own.pop("kind"), **own | fields)


@pytest.mark.parametrize("stream, hazards, place, subject, holds", [
    (HOT_LPG, MILD, change(WET_FLARE, has_drum=False), "knock-out drum", False),
    (HOT_LPG, MILD, change(WET_FLARE, has_drum=None), "knock-out drum", None),
    (NAPHTHA, MILD, change(DRAIN, vented=False), "vent", False),
    (NAPHTHA, MILD, change(DRAIN, vented=None), "vent", None),
    (NAPHTHA, MILD, change(BACK, protected=False), "relief behind", False),
    (NAPHTHA, MILD, change(BACK, protected=None), "relief behind", None),
    (NAPHTHA, Hazards(sets_solid=True), DRAIN, "solids", False),
    (NAPHTHA, Hazards(), DRAIN, "solids", None),
    (HOT_LPG, MILD, change(WET_FLARE, wet=True), "ice", False),
    (HOT_LPG, Hazards(wet=True), WET_FLARE, "ice", False),
    (HOT_LPG, MILD, change(WET_FLARE, wet=None), "ice", None),
    (HOT_LPG, MILD, WET_FLARE, "ice", True),
    (NAPHTHA, Hazards(not_with=("caustic",)), change(DRAIN, holds=("caustic",)), "company", False),
    (NAPHTHA, Hazards(not_with=("caustic",)), DRAIN, "company", None),
    (NAPHTHA, Hazards(not_with=("caustic",)), change(DRAIN, holds=("water",)), "company", True),
])  # fmt: skip
def test_what_each_place_asks(stream, hazards, place, subject, holds):
    # selection of disposal, API 521, from memory; common practice, no source
    found = to.route(stream, hazards, place, temperature=300.0)
    assert found.about(subject).holds is holds
    if holds is False:
        assert found.verdict == FAILS and found.why_not[0].holds is False


def test_temperature_of_arrival():
    hot = to.route(NAPHTHA, MILD, DRAIN, temperature=430.0).about("temperature")
    assert hot.holds is False and "highest" in hot.said()
    assert to.route(NAPHTHA, MILD, DRAIN).about("temperature").holds is None
    # water of 60 °C does not freeze what is there; at -5 °C it does
    wet = change(DRAIN, wet=True)
    assert to.route(NAPHTHA, MILD, wet, temperature=333.0).about("ice").holds is True
    assert to.route(NAPHTHA, MILD, wet, temperature=268.0).about("ice").holds is False


def test_two_phase_of_unknown_parts_goes_nowhere_but_to_both():
    mixed = TwoPhase(10e5, 100.0, omega=5.0)
    found = verdicts(mixed, temperature=300.0)
    assert found["FH"] == FAILS and found["CD"] == FAILS and found["ATM"] == FAILS
    assert found["wet FH"] == HOLDS


@pytest.mark.parametrize("call, words", [
    (lambda: to.Place("x", "river"), "use one of flare"),
    (lambda: to.Place("x", "flare", takes=("steam",)), "takes"),
    (lambda: to.route(GAS, None, FLARE), "must be Hazards"),
    (lambda: Hazards(flammable_limit=0.02), "belongs to"),
    (lambda: Hazards(flammable=True, flammable_limit=2.1), "per cent"),
    (lambda: Hazards(toxic="no"), "True, False or None"),
    (lambda: air.mass_fraction(2.1, 44.1), "per cent"),
    (lambda: air.plume_spread(1000.0, "G"), "use one of"),
    (lambda: air.dilution_length(1.0, 0.0, 0.1, 1.2), "jet_momentum"),
])  # fmt: skip
def test_refused(call, words):
    with pytest.raises(InputError, match=words):
        call()
