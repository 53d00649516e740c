"""The one table of quantities: name, symbol, meaning, kind, display units in the SI and US sets.

The name is what a parameter is called in every function. The symbol is what an equation in a
working writes; its LaTeX follows from it. The SI unit follows from the kind (`units.SI_UNIT`).
Pressures are absolute unless the name ends in `_gauge`.
"""

import re
from dataclasses import dataclass

from relieflib.errors import InputError
from relieflib.units import SI_UNIT, from_si, to_si

UNIT_SETS = ("SI", "US")
_DISPLAY = {  # kind -> unit shown in the SI set, in the US set
    "pressure": ("bara", "psia"),
    "gauge pressure": ("barg", "psig"),
    "pressure difference": ("bar", "psi"),
    "temperature": ("°C", "°F"),
    "temperature difference": ("K", "°F"),
    "mass flow": ("kg/h", "lb/h"),
    "volume flow": ("m3/h", "gpm"),
    "standard volume flow": ("Nm3/h", "scfh"),
    "area": ("mm2", "in2"),
    "length": ("m", "ft"),
    "volume": ("m3", "ft3"),
    "density": ("kg/m3", "lb/ft3"),
    "specific volume": ("m3/kg", "ft3/lb"),
    "viscosity": ("cP", "cP"),
    "kinematic viscosity": ("cSt", "cSt"),
    "power": ("kW", "Btu/h"),
    "heat flux": ("kW/m2", "Btu/(h ft2)"),
    "specific energy": ("kJ/kg", "Btu/lb"),
    "heat capacity": ("kJ/(kg K)", "Btu/(lb °F)"),
    "heat transfer coefficient": ("W/(m2 K)", "Btu/(h ft2 °F)"),
    "thermal conductivity": ("W/(m K)", "Btu/(h ft °F)"),
    "molar mass": ("kg/kmol", "lb/lbmol"),
    "mass flux": ("kg/(m2 s)", "lb/(s ft2)"),
    "velocity": ("m/s", "ft/s"),
    "expansion coefficient": ("1/K", "1/°F"),
    "flow coefficient": ("Kv", "Cv"),
    "mass": ("kg", "lb"),
    "time": ("min", "min"),
    "force": ("N", "lbf"),
    "dimensionless": ("-", "-"),
}
_GREEK = "alpha beta gamma delta eta theta lambda mu nu rho sigma tau phi omega Delta Phi".split()


@dataclass(frozen=True)
class Symbol:
    """One quantity of the table."""

    name: str
    symbol: str
    meaning: str
    kind: str

    @property
    def unit(self):
        """SI unit."""
        return SI_UNIT[self.kind]

    @property
    def latex(self):
        """LaTeX of the symbol."""
        return latex_of(self.symbol)

    def display_unit(self, unit_set="SI"):
        """Unit in which a set shows this quantity; small lengths stay in mm and in."""
        if unit_set not in UNIT_SETS:
            raise InputError(f"unit set '{unit_set}': use one of {', '.join(UNIT_SETS)}")
        if self.name in _SMALL_LENGTHS:
            return ("mm", "in")[UNIT_SETS.index(unit_set)]
        if self.name in _LARGE_AREAS:
            return ("m2", "ft2")[UNIT_SETS.index(unit_set)]
        if self.name in _AIR_FLOWS:
            return ("m3/h", "ft3/h")[UNIT_SETS.index(unit_set)]
        if self.name in _LARGE_AREAS:
            return ("m2", "ft2")[UNIT_SETS.index(unit_set)]
        if self.name in _PERCENT:
            return "%"
        return _DISPLAY[self.kind][UNIT_SETS.index(unit_set)]

    def show(self, value, unit_set="SI", atmosphere=101_325.0):
        """Value in the display unit of a set, from SI; the site's atmosphere for gauge units."""
        return from_si(value, self.display_unit(unit_set), self.kind, atmosphere)

    def read(self, value, unit_set="SI", atmosphere=101_325.0):
        """SI value of a number typed in the display unit of a set; the inverse of `show`."""
        return to_si(value, self.display_unit(unit_set), self.kind, atmosphere)


def latex_of(symbol):
    """LaTeX of an equation symbol: `P1` gives P_{1}, `rho_l` gives \\rho_{l}.

    Parameters: symbol, str. Returns str.
    >>> latex_of("Kd"), latex_of("rho_l"), latex_of("P1")
    ('K_{d}', '\\\\rho_{l}', 'P_{1}')
    """
    if len(symbol) > 3 and symbol.isupper():  # MAWP, CDTP: words of the trade, no subscript
        return rf"\mathrm{{{symbol}}}"
    head, _, tail = symbol.partition("_")
    if not tail and head not in _GREEK:
        match = re.fullmatch(r"([A-Za-z])(\w+)", head)
        head, tail = (match.group(1), match.group(2)) if match else (head, "")
    head = "\\" + head if head in _GREEK else head
    return f"{head}_{{{tail.replace('_', ',')}}}" if tail else head


_ROWS = """
pressure                      | P1       | absolute pressure at the valve inlet while relieving | pressure
back_pressure                 | P2       | absolute back pressure at the valve outlet | pressure
atmosphere                    | Patm     | absolute pressure of the site's atmosphere | pressure
throat_pressure               | Pt       | absolute pressure in the nozzle throat | pressure
saturation_pressure           | Ps       | absolute vapour pressure at the inlet temperature | pressure
critical_pressure             | Pc       | absolute thermodynamic critical pressure | pressure
upstream_pressure             | Pup      | absolute pressure upstream of the source | pressure
downstream_pressure           | Pdown    | absolute pressure downstream | pressure
suction_pressure              | Psuc     | absolute pressure at the pump suction, at its maximum | pressure
relieving_pressure            | P1       | absolute pressure at the valve inlet while relieving | pressure
pressure_gauge                | p        | gauge pressure | gauge pressure
mawp_gauge                    | MAWP     | maximum allowable working pressure | gauge pressure
set_pressure_gauge            | pset     | set pressure | gauge pressure
back_pressure_gauge           | p2       | back pressure | gauge pressure
superimposed_gauge            | psup     | constant superimposed back pressure | gauge pressure
operating_pressure_gauge      | pop      | highest normal operating pressure | gauge pressure
relieving_pressure_gauge      | p1       | relieving pressure | gauge pressure
accumulated_pressure_gauge    | pacc     | pressure in the vessel while relieving | gauge pressure
cold_differential_gauge       | CDTP     | cold differential test pressure | gauge pressure
reseat_pressure_gauge         | preseat  | pressure at which the valve closes | gauge pressure
design_pressure_gauge         | pdes     | design pressure | gauge pressure
burst_pressure_gauge          | pburst   | marked burst pressure of a rupture disk | gauge pressure
overpressure                  | dp_over  | pressure above set while relieving | pressure difference
tolerance                     | dp_tol   | tolerance on set pressure | pressure difference
margin                        | dp_mar   | margin between operating and set pressure | pressure difference
static_head                   | dp_stat  | pressure of the liquid column | pressure difference
temperature                   | T1       | absolute temperature at the valve inlet while relieving | temperature
throat_temperature            | Tt       | temperature in the nozzle throat | temperature
equilibrium_quality           | x_eq     | inlet between boiling liquid (0) and dry vapour (1); below 0 subcooled, above 1 superheated | dimensionless
mass_flow                     | W        | mass flow to be relieved | mass flow
inflow                        | W_in     | mass flow coming in at relieving pressure | mass flow
outflow                       | W_out    | mass flow that still leaves through outlets that stay open | mass flow
rated_flow                    | W_rated  | mass flow the chosen area passes | mass flow
normal_flow                   | W_n      | mass flow in normal operation | mass flow
normal_pressure               | Pn       | absolute pressure in normal operation | pressure
volume_flow                   | q        | volume flow at flowing conditions | volume flow
standard_volume_flow          | qn       | volume flow of gas at reference conditions, as moles | standard volume flow
mass_flux                     | G        | mass flux through an ideal nozzle | mass flux
required_area                 | A        | required flow area | area
area                          | Ao       | flow area of the chosen orifice | area
density                       | rho      | density at the valve inlet | density
liquid_density                | rho_l    | density of the liquid at the inlet | density
specific_volume               | v0       | specific volume at the inlet | specific volume
specific_volume_90            | v9       | specific volume after isentropic flash to 90 % of the inlet pressure | specific volume
vapor_specific_volume         | v_v0     | specific volume of the vapour or gas at the inlet | specific volume
specific_volume_change        | v_vl0    | specific volume of saturated vapour less that of the liquid | specific volume
density_90                    | rho_9    | density after isentropic flash to 90 % of the saturation pressure | density
viscosity                     | mu       | dynamic viscosity of the liquid | viscosity
kinematic_viscosity           | nu       | kinematic viscosity of the liquid | kinematic viscosity
molar_mass                    | M        | molar mass | molar mass
gas_constant                  | R        | molar gas constant, J/(kmol K) | dimensionless
valve_elevation               | zv       | height of the valve above the datum | length
temperature_multiplier        | Kt       | manufacturer's correction of the test pressure for a hot spring | dimensionless
gravity                       | g        | standard acceleration of gravity, m/s2 | dimensionless
k                             | k        | ideal-gas ratio of heat capacities | dimensionless
n                             | n        | isentropic exponent | dimensionless
Z                             | Z        | compressibility factor at the inlet | dimensionless
quality                       | x        | mass fraction of vapour | dimensionless
void_fraction                 | alpha_0  | volume fraction of vapour at the inlet | dimensionless
omega                         | omega    | two-phase expansion parameter | dimensionless
latent_heat                   | h_v      | latent heat of vaporisation at relieving pressure | specific energy
enthalpy                      | h        | specific enthalpy | specific energy
liquid_heat_capacity          | c_p      | heat capacity of the liquid at constant pressure | heat capacity
critical_ratio                | r_c      | ratio of throat to inlet pressure at choking | dimensionless
pressure_ratio                | r        | ratio of throat to inlet pressure | dimensionless
Kd                            | Kd       | coefficient of discharge | dimensionless
Kb                            | Kb       | back-pressure factor of a balanced valve in gas or vapour | dimensionless
Kc                            | Kc       | factor of a rupture disk installed upstream | dimensionless
Kw                            | Kw       | back-pressure factor of a balanced valve in liquid | dimensionless
Kv                            | Kv       | viscosity factor | dimensionless
Kp                            | Kp       | overpressure factor of a liquid valve without certified capacity | dimensionless
KN                            | KN       | high-pressure factor of the Napier equation | dimensionless
KSH                           | KSH      | superheat factor | dimensionless
reynolds                      | Re       | Reynolds number in the orifice | dimensionless
accumulation                  | a        | accumulation limit as a fraction of MAWP | dimensionless
accumulation_limit            | dp_acc   | pressure allowed above MAWP while relieving | pressure difference
overpressure_fraction         | x_op     | overpressure as a fraction of set pressure | dimensionless
back_pressure_fraction        | x_bp     | gauge back pressure as a fraction of set pressure | dimensionless
blowdown                      | bd       | pressure drop from set to reseat, as a fraction of set | dimensionless
used                          | u        | required area as a fraction of the chosen area | dimensionless
head                          | H        | head of a pump at a flow | length
shutoff_head                  | H0       | head of a pump at no flow | length
rated_head                    | Hr       | head of a pump at its rated flow | length
rated_volume_flow             | qr       | rated volume flow of a pump | volume flow
elevation                     | z        | height above a datum | length
length                        | L        | length | length
diameter                      | D        | inside diameter | length
valves                        | N        | number of valves that lift together | dimensionless
flow_coefficient              | C        | flow coefficient of a valve, as Kv | flow coefficient
bypass_coefficient            | C_by     | flow coefficient of the open bypass around a control valve, as Kv | flow coefficient
total_coefficient             | C_tot    | flow coefficient of all that is open in parallel, as Kv | flow coefficient
FL                            | FL       | liquid pressure recovery factor of a valve | dimensionless
xT                            | xT       | pressure drop ratio at which air chokes in a valve | dimensionless
FF                            | FF       | liquid critical pressure ratio factor | dimensionless
expansion_factor              | Y        | expansion factor of gas in a valve | dimensionless
choked_drop                   | dp_ch    | pressure drop at which liquid chokes in a valve | pressure difference
pressure_drop                 | dp_v     | pressure drop that counts for the flow | pressure difference
choked_drop_ratio             | x_ch     | pressure drop ratio at which gas chokes in a valve | dimensionless
pressure_drop_ratio           | x_dp     | pressure drop that counts for the flow over upstream pressure | dimensionless
upstream_temperature          | Tup      | absolute temperature upstream | temperature
upstream_density              | rho_up   | density upstream | density
upstream_flux                 | G_up     | mass flux through the opening that failed | mass flux
opening_area                  | A_op     | area of the opening that failed | area
orifice_coefficient           | Co       | coefficient of discharge of the opening that failed | dimensionless
valve_inflow                  | W_cv     | mass flow through what opened or broke | mass flow
other_inflow                  | W_oth    | mass flow through the other inlets | mass flow
gas_inflow                    | W_g      | mass flow of gas coming in | mass flow
gas_density                   | rho_g    | density of the gas at relieving pressure | density
vapor_density                 | rho_v    | density of the vapour at relieving pressure | density
liquid_enthalpy               | h_l      | specific enthalpy of the saturated liquid | specific energy
hold_up                       | V_h      | volume of liquid held above the outlet | volume
free_volume                   | V_free   | volume that liquid can still fill | volume
filled_fraction               | x_fill   | liquid that comes over free volume | dimensionless
volume_outflow                | q_out    | volume flow that still leaves | volume flow
time                          | t        | time | time
volume                        | V        | volume | volume
heat_rate                     | Q        | heat flow into the fluid | power
solar_flux                    | q_s      | heat flux of the sun on projected area | heat flux
absorptivity                  | a_s      | part of the sun's heat that the surface takes up | dimensionless
expansion_coefficient         | alpha    | coefficient of cubic thermal expansion of the liquid | expansion coefficient
linear_expansion              | alpha_m  | coefficient of linear thermal expansion of the metal | expansion coefficient
compressibility               | beta     | isothermal compressibility of the liquid, 1/Pa | dimensionless
api_gravity                   | d_API    | gravity of an oil in degrees API at 15.6 °C | dimensionless
temperature_rise              | dT_rise  | rise of temperature | temperature difference
pressure_rise                 | dp_T     | rise of pressure of a blocked-in liquid | pressure difference
wall_thickness                | t_w      | thickness of the pipe wall | length
youngs_modulus                | E        | modulus of elasticity of the metal | pressure difference
poisson_ratio                 | nu_m     | ratio of lateral to axial strain of the metal | dimensionless
leak_flow                     | q_l      | volume flow that leaks from the closed section | volume flow
solar_temperature             | T_sol    | highest temperature the sun brings a line to | temperature
high_pressure_gauge           | p_HP     | highest pressure of the high-pressure side | gauge pressure
test_pressure_gauge           | p_test   | corrected hydrotest pressure | gauge pressure
test_ratio                    | r_test   | hydrotest pressure over MAWP | dimensionless
stress_ratio                  | r_S      | allowable stress at design over that at test temperature | dimensionless
tube_inside_diameter          | d_t      | inside diameter of a tube | length
openings                      | N_op     | number of openings that a break leaves | dimensionless
check_valve_diameter          | D_cv     | nominal flow diameter of the largest check valve | length
leak_diameter                 | d_l      | diameter of the opening that a leaking check valve leaves | length
bottom_pressure               | P_bot    | absolute pressure at the bottom of the vessel | pressure
bottom_limit                  | P_lim    | absolute pressure that the bottom may reach | pressure
velocity                      | w        | velocity in the line | velocity
volume_ratio                  | r_V      | volume of vapour over volume of the liquid it came from | dimensionless
feed_temperature              | T_f      | absolute temperature at which the volatile liquid comes in | temperature
boiling_temperature           | T_b      | absolute temperature at which it boils in the host | temperature
specific_heat_need            | h_need   | heat that brings the liquid to its boiling point and boils it | specific energy
heat_capacity_rate            | Q_need   | heat flow that boils all that comes in | power
vapor_flow                    | W_v      | mass flow of vapour made | mass flow
vapor_volume_flow             | q_v      | volume flow of vapour made, less that of the liquid | volume flow
host_saturation_pressure      | Ps_h     | absolute vapour pressure of the hot host liquid | pressure
host_molar_mass               | M_h      | molar mass of the host's vapour | molar mass
host_vapor_flow               | W_h      | mass flow of host vapour carried along | mass flow
saturation_ratio              | eta_s    | saturation over inlet pressure of a subcooled liquid | dimensionless
transition_ratio              | eta_st   | saturation ratio between high and low subcooling | dimensionless
entropy                       | s        | specific entropy | heat capacity
throat_density                | rho_t    | density in the nozzle throat | density
throat_enthalpy               | h_t      | specific enthalpy in the nozzle throat | specific energy
throat_quality                | x_t      | mass fraction of vapour in the nozzle throat | dimensionless
wetted_area                   | A_w      | inside surface of the vessel that liquid touches | area
exposed_area                  | A_e      | surface of a gas-filled vessel in the fire | area
level                         | h_L      | height of the liquid | length
fire_level                    | h_f      | height of the liquid that a fire heats | length
fire_height                   | z_f      | height above the pool up to which fire counts | length
normal_level                  | h_n      | height of the liquid in normal operation | length
tray_holdup                   | V_tr     | volume of liquid on one tray | volume
trays                         | N_tr     | number of trays | dimensionless
piping_allowance              | x_p      | surface of piping in the fire as a fraction of the vessel's | dimensionless
environment_factor            | F        | environment factor of the fire equation | dimensionless
fire_constant                 | C_f      | constant of the fire equation, W for the first m2 | dimensionless
conductance                   | U_i      | thermal conductance of insulation | heat transfer coefficient
conductivity                  | lambda_i | thermal conductivity of insulation at its mean temperature | thermal conductivity
insulation_thickness          | t_i      | thickness of the insulation | length
vessel_temperature            | T_v      | absolute temperature of the vessel under its insulation | temperature
step_heat                     | h_s      | heat for each kilogram of vapour in a step of boiling | specific energy
expulsion_heat                | h_e      | heat that drives one kilogram out at constant pressure | specific energy
vaporized                     | x_v      | mass fraction of the liquid that has boiled away | dimensionless
heat_capacity                 | c_P      | heat capacity at constant pressure | heat capacity
start_temperature             | T_0      | absolute temperature at the start | temperature
end_temperature               | T_e      | absolute temperature at the end | temperature
mole_fractions                | x_m      | mole fractions of a mixture | dimensionless
mass                          | m        | mass of the contents | mass
metal_mass                    | m_w      | mass of the wall | mass
metal_heat_capacity           | c_w      | heat capacity of the wall | heat capacity
normal_temperature            | T_n      | absolute temperature in normal operation | temperature
wall_temperature              | T_w      | absolute temperature of the wall | temperature
gas_factor                    | F_u      | factor of the printed area equation of a gas-filled vessel | dimensionless
strength                      | S_u      | strength of the wall at its temperature | pressure difference
hot_temperature               | T_h      | absolute temperature of the heating side | temperature
coefficient                   | U        | overall heat transfer coefficient | heat transfer coefficient
surface                       | A_x      | heat transfer surface of an exchanger | area
heat_capacity_flow            | C_h      | mass flow times heat capacity of the heating side, W/K | dimensionless
fouling_resistance            | r_foul   | thermal resistance of fouling, m2 K/W | dimensionless
reboiler_duty                 | Q_reb    | heat flow of the reboiler at relieving pressure | power
other_duty                    | Q_oth    | other heat flow into the column at relieving pressure | power
feed_deficit                  | Q_def    | heat that the feed takes up at relieving pressure | power
bottoms_heat                  | Q_bot    | heat that products carry away above that of the feed | power
remaining_cooling             | Q_rem    | heat flow that is still taken out | power
net_heat                      | Q_net    | heat flow left to make vapour | power
normal_duty                   | Q_n      | heat flow in normal operation | power
lost_duty                     | Q_lost   | heat flow no longer taken out | power
natural_fraction              | x_nat    | part of an air cooler's duty that stays with the fans stopped | dimensionless
vapor_inflow                  | W_vin    | mass flow of vapour that comes to the condenser at relieving pressure | mass flow
condensed                     | W_con    | mass flow of vapour that still condenses | mass flow
noncondensable_flow           | W_nc     | mass flow of gas that does not condense | mass flow
event_load                    | W_ev     | mass flow of all valves that lift together in one event | mass flow
fuel_flow                     | W_fuel   | mass flow of fuel with its valve wide open | mass flow
heating_value                 | h_fuel   | lower heating value of the fuel | specific energy
efficiency                    | eta_f    | part of the fuel's heat that reaches the fluid | dimensionless
normal_absorption             | Q_abs    | heat flow taken up in normal operation without boiling | power
reaction_heat                 | q_r      | heat of reaction for each kilogram of batch, W/kg | dimensionless
set_rate                      | r_set    | rate of temperature rise at set pressure, K/s | dimensionless
peak_rate                     | r_max    | rate of temperature rise at the highest allowed pressure, K/s | dimensionless
reactor_volume                | V_r      | volume of the reactor | volume
batch_mass                    | m_0      | mass of the batch when the vent opens | mass
gas_volume_flow               | q_gas    | peak volume flow of permanent gas at relieving conditions | volume flow
test_mass                     | m_t      | mass of the sample in the calorimeter | mass
test_volume                   | V_t      | gas volume of the calorimeter | volume
test_temperature              | T_t      | absolute temperature of the gas in the calorimeter | temperature
pressure_rate                 | r_P      | rate of pressure rise in the calorimeter, Pa/s | dimensionless
phi_factor                    | phi      | heat capacity of sample and cell over that of the sample | dimensionless
test_temperatures             | T_i      | absolute temperatures of a calorimeter run | temperature
test_rates                    | r_i      | rates of temperature rise of a calorimeter run, K/s | dimensionless
adiabatic_rise                | dT_ad    | rise of temperature with the whole heat of reaction | temperature difference
filling                       | q_in     | largest volume flow into the tank | volume flow
emptying                      | q_em     | largest volume flow out of the tank | volume flow
liquid_breathing              | q_liq    | volume flow of air for moving liquid, at 0 °C and 1 atm | volume flow
thermal_breathing             | q_th     | volume flow of air for warming or cooling, at 0 °C and 1 atm | volume flow
breathing                     | q_air    | volume flow of air to be vented, at 0 °C and 1 atm | volume flow
volatility_factor             | x_vol    | volume flow out for each volume of liquid in | dimensionless
latitude_factor               | Y_lat    | factor of warming by latitude | dimensionless
cooling_factor                | C_lat    | factor of cooling by latitude and vapour pressure | dimensionless
insulation_factor             | R_i      | reduction of thermal breathing by insulation | dimensionless
insulated_area                | A_ins    | insulated part of the tank's surface | area
tank_area                     | A_tot    | surface of shell and roof of the tank | area
inside_coefficient            | h_in     | heat transfer coefficient inside the tank | heat transfer coefficient
latitude                      | lat      | latitude in degrees, north or south | dimensionless
venting_temperature           | T_vent   | absolute temperature of the vapour that is vented | temperature
vent_area                     | A_vent   | flow area of an open vent | area
discharge_coefficient         | K_vent   | coefficient of discharge of an open vent | dimensionless
shell_length                  | L_sh     | length of shell between stiffeners | length
collapse_pressure             | dp_cr    | outside pressure at which a thin shell buckles | pressure difference
inert_pressure                | P_in     | absolute pressure of the gas that does not condense, hot | pressure
wetted_areas                  | A_wi     | inside surfaces that liquid touches, of each vessel | area
environment_factors           | F_i      | environment factor of each vessel | dimensionless
strength_20                   | S_20     | minimum tensile strength of the wall at 20 °C | pressure difference
clean_coefficient             | U_cl     | overall heat transfer coefficient of the clean surface | heat transfer coefficient
gas_fraction                  | y_gas    | mole fraction of gas that does not condense | dimensionless
cooling_temperature           | T_c      | absolute mean temperature of the cooling side | temperature
test_rate                     | r_t      | rate of temperature rise in the calorimeter, K/s | dimensionless
reaction_order                | n_r      | order of the reaction | dimensionless
highest_pressure              | P_max    | highest absolute pressure allowed | pressure
emergency_set_gauge           | p_em     | set pressure of the emergency vent | gauge pressure
emergency_overpressure        | x_em     | overpressure of the emergency vent as a fraction of its set pressure | dimensionless
K                             | K        | loss coefficient of a fitting or of all of a line, in velocity heads | dimensionless
velocity_heads                | N_v      | velocity heads lost in a pipe, friction and fittings | dimensionless
friction_factor               | f        | Darcy friction factor | dimensionless
pipe_reynolds                 | Re_p     | pipe Reynolds number | dimensionless
relative_roughness            | e_D      | roughness of the pipe wall over inside diameter | dimensionless
roughness                     | e_w      | roughness of the pipe wall | length
mach                          | Ma       | local speed over the speed of sound | dimensionless
next_diameter                 | D_2      | inside diameter after a change of bore | length
bore                          | D_b      | bore of a valve in the line | length
pipe_flux                     | G_p      | mass flux in the pipe | mass flux
line_Z                        | Z_l      | compressibility factor in the line | dimensionless
end_pressure                  | P_e      | absolute pressure beyond the end of the line | pressure
header_pressure               | P_h      | absolute pressure in the header or around an open end while relieving | pressure
choke_pressure                | P_ch     | absolute pressure at which the flow leaves a bore choked | pressure
exit_pressure                 | P_x      | absolute static pressure in the bore at its end | pressure
start_pressure                | P_st     | absolute static pressure in the bore at its start | pressure
outlet_pressure               | P_o      | absolute pressure at the valve's outlet flange while relieving | pressure
stagnation_temperature        | T_st     | absolute temperature of the flow at rest in the line | temperature
exit_mach                     | Ma_x     | local speed over that of sound at the end of a bore | dimensionless
start_mach                    | Ma_s     | local speed over that of sound at the start of a bore | dimensionless
mach_parameter                | q_M      | square of pressure over mass flux and sound speed | dimensionless
volume_a                      | a_v      | specific volume as pressure grows, a of v = a + b/P | specific volume
volume_b                      | b_v      | slope of specific volume, b of v = a + b/P, J/kg | specific energy
line_density                  | rho_L    | density of the liquid in the line | density
inlet_loss                    | dp_in    | pressure lost for good in the inlet line | pressure difference
loss_before                   | dp_bef   | pressure lost in the bores before | pressure difference
inlet_limit                   | dp_lim   | pressure that the inlet line may lose | pressure difference
loss_limit                    | x_lim    | inlet loss allowed, as a fraction of set pressure | dimensionless
loss_fraction                 | x_in     | inlet loss as a fraction of set pressure | dimensionless
largest_K                     | K_max    | largest loss coefficient that the limit allows | dimensionless
valve_pressure                | P_v      | absolute pressure left at the valve's inlet | pressure
area_ratio                    | A_r      | orifice area over area of the line's bore | dimensionless
opening_time                  | t_o      | time in which a valve opens | time
sound_speed                   | c_s      | speed of sound | velocity
blowdown_margin               | x_mar    | margin kept below the blowdown, as a fraction of set | dimensionless
blowdown_pressure             | dp_bd    | pressure drop that the valve's blowdown leaves for loss and wave | pressure difference
wave_pressure                 | dp_w     | deepest dip of pressure as the valve opens | pressure difference
acoustic_length               | L_ac     | longest line whose loss and wave stay within the blowdown | length
variable_superimposed_gauge   | p_var    | highest variable superimposed back pressure, above the constant one | gauge pressure
built_up                      | dp_bu    | built-up back pressure | pressure difference
back_limit                    | dp_bl    | highest back pressure that the kind of valve takes | pressure difference
total_back                    | dp_tot   | total back pressure above the atmosphere | pressure difference
outlet_temperature            | T_o      | absolute temperature of the flow behind the valve | temperature
flange_rating_gauge           | p_fl     | working pressure of the outlet flange | gauge pressure
seal_depth                    | z_s      | depth that the end of the line dips into a liquid | length
seal_density                  | rho_s    | density of the seal's liquid | density
exit_velocity                 | w_x      | velocity at the end of the line | velocity
exit_area                     | A_ex     | area of the open end | area
exit_pressure_gauge           | p_x      | static pressure in the bore at the open end | gauge pressure
reaction_force                | F_r      | reaction force of the discharge | force
design_force                  | F_d      | static force with the dynamic load factor | force
dynamic_load_factor           | DLF      | effect of a suddenly applied force over that of a steady one | dimensionless
period                        | t_p      | natural period of the valve on its pipe | time
arm                           | L_arm    | distance from the run pipe to the centre of the outlet pipe | length
second_moment                 | I_p      | second moment of area of the inlet pipe, m4 | dimensionless
outside_diameter              | D_o      | outside diameter of a pipe | length
distance                      | r_d      | distance from the open end | length
pressure_ratio_out            | r_out    | absolute pressure upstream over that around the open end | dimensionless
noise_ordinate                | L_fig    | ordinate of the noise figure, dB | dimensionless
sound_level_30                | L_30     | sound pressure level at 30 m, dB | dimensionless
sound_level                   | L_p      | sound pressure level, dB | dimensionless
"""
SYMBOLS = {}
for _row in _ROWS.strip().splitlines():
    _name, _symbol, _meaning, _kind = (part.strip() for part in _row.split("|"))
    SYMBOLS[_name] = Symbol(_name, _symbol, _meaning, _kind)
_SMALL_LENGTHS = {
    "diameter", "tube_inside_diameter", "check_valve_diameter", "leak_diameter", "wall_thickness",
}  # fmt: skip
_LARGE_AREAS = {
    "wetted_area", "wetted_areas", "exposed_area", "surface", "insulated_area", "tank_area",
}  # fmt: skip
_AIR_FLOWS = {"liquid_breathing", "thermal_breathing", "breathing"}
_LARGE_AREAS = {
    "wetted_area",
    "exposed_area",
    "surface",
    "insulated_area",
    "tank_area",
    "wetted_areas",
}
_PERCENT = {
    "accumulation", "overpressure_fraction", "back_pressure_fraction", "blowdown", "used",
}  # fmt: skip

# Parameters that are not quantities: what each may hold.
CHOICES = {
    "edition": "edition of API 520-I: 7, 9 or 10",
    "stream": "Gas, Steam, Liquid, TwoPhase or RealFluid at relieving conditions",
    "device": "a `devices.Device`",
    "load": "a `ReliefLoad`",
    "atmosphere": "the site's",
    "cause": "name of an overpressure cause, as its module",
    "installation": "'single' or 'multiple' valves that together carry the load",
    "fire": "True for exterior fire",
    "fire_only": "True for a valve that serves fire alone",
    "kind": "'conventional', 'balanced', 'pilot' or 'disk'",
    "role": "'first', 'additional' or 'fire supplement'",
    "letter": "orifice letter, D to T",
    "working": "steps that led to a number",
    "spare": "True adds a spare valve",
    "compressible": "True for gas, False for liquid",
    "curve": "a `PumpCurve`",
    "flange_class": "150, 300, 600, 900, 1500 or 2500",
    "designation": "inlet size, orifice letter, outlet size, such as '3L4'",
    "source": "Gas, Steam, Liquid, TwoPhase or RealFluid upstream, at its highest pressure",
    "metal": "a metal of the table pipe_metals",
    "vapor_pocket": "True where a pocket of gas that can't condense or dissolve always stays",
    "drained": "True where the line is drained after it is blocked in, under a procedure",
    "liquid_filled": "True where the low-pressure side is full of liquid",
    "unit_set": "'SI' or 'US'",
    "engine": "the `properties.Engine` of a fluid",
    "value": "second value of a state beside its pressure, of the kind named",
    "fluid": "a name CoolProp knows, or a mixture such as 'Propane[0.6]&n-Butane[0.4]'",
    "vessel": "a `geometry.Vessel`",
    "mixture": "a `boiling.Mixture`",
    "steps": "how many steps",
    "last": "fraction of the moles that is gone at the end",
    "protection": "a word of the table protection_factor",
    "adequate_drainage": "True with adequate drainage and prompt fire fighting",
    "connected": "True for vessels open to each other that share a valve",
    "plant": "a `plant.Plant`",
    "event": "a `power_and_air_failure.Event`",
    "loads": "relief loads by valve",
    "louvres_shut": "True where the louvres of an air cooler shut",
    "batch": "a `runaway_reaction.Batch`",
    "volatile": "True for a liquid of vapour pressure above 5 kPa, or stored above 40 °C",
    "stored_warm": "True for a vapour pressure above that of hexane, or stored at 25 °C and more",
    "case": "an `exterior_fire_gas.FireCase`",
    "consequences": "list of `power_and_air_failure.Consequence`",
    "credit": "a word of the table emergency_credit",
    "lost": "set of words for what has failed",
    "valve": "tag of a relief valve",
    "nps": "nominal pipe size such as '4' or '1-1/2'",
    "schedule": "schedule of a pipe, such as '40', '10S' or 'XS'",
    "line": "a `lines.line.Line`",
    "run": "a `lines.line.Run`",
    "cut": "True for a run of each part",
    "flow": "'adiabatic' or 'isothermal' for gas in a line",
    "sizing": "a `sizing.Sizing`",
    "check": "an `InletCheck` or `OutletCheck`",
    "side": "'inlet' or 'outlet'",
    "modulating": "True for a valve that opens only as far as the load needs",
    "remote_sensing": "True for a pilot that senses the pressure of the vessel",
    "limit": "what a value is held against, of its own unit",
    "bad": "bool or array of bool",
    "words": "what is said where it holds",
    "line_fluid": "`Adiabatic`, `Expanding` or `Incompressible`",
    "place": "what `outlet` knows of the line's end",
    "pieces": "the runs of a line",
    "stations": "the stations along a line",
}


def symbol(name):
    """The `Symbol` of a quantity.

    Parameters: name, str. Returns Symbol. Raises InputError for an unknown name.
    >>> symbol("mass_flow").display_unit("US")
    'lb/h'
    """
    if name not in SYMBOLS:
        raise InputError(f"quantity '{name}' is not in the table of symbols")
    return SYMBOLS[name]
