"""Read a plant from a TOML file: items by tag, every value in SI.

The file writes each value with its unit ('12.5 barg'); what an attribute is called here says what
it is: SI, absolute pressure unless the name ends in `_gauge`.
"""

import copy
import re
import tomllib
from pathlib import Path
from types import SimpleNamespace

from relieflib import set_pressure
from relieflib.devices import Device
from relieflib.disposal import header, plant_tree
from relieflib.errors import InputError, finite, result
from relieflib.symbols import SYMBOLS
from relieflib.toml_lines import with_line
from relieflib.units import ATMOSPHERE, GRAVITY, absolute, to_si

# Keys beside those of the table of symbols -> kind of quantity; "text" and "number" have no unit.
_KINDS = {
    "text": "tag name service coolprop fluid phase from to pump bus agitator_bus orientation"
    " head_type reaction reason condenser reboiler hot_fluid hot_side cold_fluid suction discharge"
    " upstream downstream upstream_class downstream_class pipe_class fails nominal_size host"
    " protects kind designation sized_for certified_for destination takes joins header items"
    " vents_to drain_source device tapped_on tapping secured position interlock passes"
    " enters_header orientation bonnet_vent body_drain sensing discharge_direction disturbance"
    " from_side to_side lift nps schedule flow",
    "yes or no": "liquid_case inlet_drains_back outlet_drains_away low_point_drained weep_hole"
    " modulating remote_sensing rain_cover end_fenced water_may_stand winterised may_solidify"
    " traced supported test_access telltale",
    "whole number": "in_duty spare flange_class",
    "parts": "inlet outlet parts valve_inlets valve_outlets",
    "number": "count latitude trays tubes vent_elbows inlet_elbows outlet_elbows reflux_ratio"
    " FL xT k Z elbows tees K vapour_passes relative_humidity radiated_fraction oxygen_percent"
    " disturbance_diameters",
    "gauge pressure": "rating_gauge lowest_pressure_gauge highest_pressure_gauge hot_mawp_gauge"
    " return_pressure_gauge bottom_pressure_gauge hot_pressure_gauge cold_mawp_gauge"
    " cold_pressure_gauge suction_pressure_gauge discharge_pressure_gauge"
    " highest_suction_pressure_gauge suction_mawp_gauge upstream_pressure_gauge"
    " downstream_pressure_gauge design_vacuum_gauge set_vacuum_gauge",
    "temperature": "ambient_temperature highest_ambient_temperature operating_temperature"
    " return_temperature bottom_temperature feed_temperature hot_in hot_out cold_in cold_out"
    " host_temperature test_temperatures lowest_metal_temperature highest_temperature",
    "temperature difference": "adiabatic_rise",
    "mass flow": "maximum_mass_flow normal_mass_flow dosing_mass_flow hydrogen methane propane"
    " naphtha",
    "volume flow": "highest_filling highest_emptying pump_out",
    "length": "inside_diameter outside_diameter tip_diameter tip_length normal_level high_level"
    " feed_elevation droplet_diameter seal_depth"
    " tube_outside_diameter tube_inside_diameter tube_length height inlet_diameter inlet_length"
    " outlet_diameter outlet_length inlet_height vent_diameter vent_length exit_diameter"
    " exit_height platform_distances platform_heights height_above_header discharge_height"
    " source_distance",
    "pressure difference": "tapping_drop line_drop static_head",
    "volume": "volume tray_holdup cold_volume slops",
    "area": "jacket_area",
    "mass": "batch_mass tray_liquid sump_liquid drum_liquid",
    "time": "batch_time holdup_time",
    "velocity": "wind_velocity",
    "density": "seal_density",
    "power": "duty",
    "heat flux": "solar_flux",
    "heat transfer coefficient": "coefficient jacket_coefficient",
    "heat capacity": "heat_capacity",
    "flow coefficient": "rated_Kv largest_trim_Kv bypass_Kv forward_Kv drain_Kv",
}
KIND = {row.name: row.kind for row in SYMBOLS.values()}
KIND |= {key: kind for kind, keys in _KINDS.items() for key in keys.split()}
_OPERATING = "operating_pressure_gauge operating_temperature"
_VESSEL = (
    "service fluid orientation head_type diameter length elevation normal_level high_level"
    f" mawp_gauge {_OPERATING}"
)
_DEVICE = "protects sized_for destination"
# Section -> keys that an item must have; a key after '?' may be left out.
SECTIONS = {
    "fluids": "? coolprop molar_mass k Z density viscosity saturation_pressure critical_pressure",
    "streams": "service from to fluid phase pressure_gauge temperature maximum_mass_flow hydrogen"
    " methane propane naphtha ? pump highest_pressure_gauge",
    "headers": "service lowest_pressure_gauge highest_pressure_gauge ? takes",
    # The way from the valves to the end: a tree of pipes, drums and one stack a header.
    "disposal.pipes": "to inside_diameter length ? service elbows tees K design_pressure_gauge",
    "disposal.drums": "to orientation diameter length ? service head_type vapour_passes slops"
    " holdup_time droplet_diameter design_pressure_gauge lowest_metal_temperature pump_out"
    " inlet_height",
    "disposal.stacks": "header inside_diameter height tip_diameter tip_length ? service"
    " design_pressure_gauge seal_depth seal_density wind_velocity relative_humidity"
    " radiated_fraction oxygen_percent mach_limit radiation_limit seal_inlet_diameter leg_length",
    # Beside that tree: drums of closed drains, and open ends to the air.
    "disposal.drain_drums": "service header vents_to fluid orientation head_type diameter length"
    " elevation normal_level mawp_gauge ? lowest_metal_temperature highest_temperature"
    " vent_diameter vent_length vent_elbows drain_source drain_Kv",
    "disposal.releases": "device exit_diameter exit_height"
    " ? platform_distances platform_heights wind_velocity",
    "fire_zones": "items ? service",
    "events": "lift ? service",  # devices that relieve together when one thing fails
    "utilities": "fluid pressure_gauge highest_pressure_gauge temperature ? return_pressure_gauge"
    " return_temperature bus",
    "pipe_classes": "rating_gauge temperature",
    # whatever else is protected, or a vessel of which little is known yet
    "equipment": "mawp_gauge ? service fluid orientation head_type diameter length elevation"
    f" normal_level high_level {_OPERATING}",
    "vessels": _VESSEL,
    "columns": f"{_VESSEL} bottom_pressure_gauge bottom_temperature trays tray_holdup"
    " feed_elevation feed_temperature reflux_ratio condenser reboiler",
    "reactors": f"{_VESSEL} batch_mass volume batch_time reaction adiabatic_rise heat_capacity"
    " jacket_area jacket_coefficient agitator_bus dosing_mass_flow test_temperatures test_rates",
    "tanks": "service fluid diameter height normal_level high_level design_pressure_gauge"
    f" design_vacuum_gauge {_OPERATING} highest_filling highest_emptying",
    "exchangers": "service duty area coefficient hot_fluid hot_side hot_mawp_gauge"
    " hot_pressure_gauge hot_in hot_out cold_fluid cold_mawp_gauge cold_pressure_gauge cold_in"
    " cold_out tubes tube_outside_diameter tube_inside_diameter tube_length cold_volume"
    " ? fouling_resistance",
    "pumps": "service fluid suction discharge density suction_pressure_gauge"
    " discharge_pressure_gauge highest_suction_pressure_gauge rated_volume_flow rated_head"
    " shutoff_head suction_mawp_gauge bus",
    "control_valves": "service fluid phase upstream downstream upstream_class downstream_class"
    " upstream_pressure_gauge downstream_pressure_gauge normal_mass_flow rated_Kv largest_trim_Kv"
    " bypass_Kv FL xT fails",
    "check_valves": "service upstream downstream nominal_size inside_diameter forward_Kv",
    "lines": "service fluid upstream downstream pipe_class design_pressure_gauge"
    f" {_OPERATING} nominal_size inside_diameter outside_diameter length",
    "ingress": "service host fluid temperature host_temperature mass_flow",
    "sources": "service host fluid density suction_pressure_gauge rated_volume_flow rated_head"
    " shutoff_head",
    "relief_valves": f"{_DEVICE} kind designation set_pressure_gauge ? elevation inlet_diameter"
    " inlet_length inlet_elbows outlet_diameter outlet_length outlet_elbows joins count spare"
    " certified_for inlet outlet",  # the last two: parts of a line, as `lines.written`
    "rupture_disks": f"{_DEVICE} diameter burst_pressure_gauge elevation"
    " ? inlet_length outlet_diameter outlet_length outlet_elbows joins",
    "tank_vents": f"{_DEVICE} set_pressure_gauge set_vacuum_gauge",
    # Where each relief device stands, ways that stay open between items, items that need none:
    # `position.placement` says what each key means.
    "placements": "inlet ? service tapped_on in_duty spare outlet valve_inlets valve_outlets"
    " tapping liquid_case source_distance tapping_drop disturbance disturbance_diameters"
    " inlet_drains_back outlet_drains_away low_point_drained enters_header height_above_header"
    " orientation bonnet_vent body_drain weep_hole rain_cover discharge_height discharge_direction"
    " end_fenced"
    " water_may_stand winterised may_solidify traced sensing supported test_access",
    "connections": "from to ? service from_side to_side parts line_drop static_head",
    "unprotected": "reason",
}
_SITE = "name atmosphere ? ambient_temperature highest_ambient_temperature solar_flux latitude"
# What a study keeps in the same file, which `relieflib.study` reads.
STUDY = ("study", "considered", "shared", "cases")
TAKES = ("gas", "liquid", "two-phase")  # what a header is meant for
COMPONENTS = ("hydrogen", "methane", "propane", "naphtha")
COMPONENT_FLUIDS = ("Hydrogen", "Methane", "Propane", "n-Hexane")  # as the properties know them
_OWN_TABLES = ("fluids", "streams", "headers", "utilities", "pipe_classes", "sources", "fire_zones",
               "placements", "connections", "unprotected", "events")  # fmt: skip


class Item(SimpleNamespace):
    """One thing of the plant: `tag`, `section`, and its values in SI as attributes."""


class Plant:
    """A plant: `site`, `items`, and `fluids`, `streams`, `headers`, `utilities`, `pipe_classes`,
    `sources`, `fire_zones`, `placements`, `connections`, `unprotected`, `events`; `study`, what the
    file keeps of a study, as written.

    `plant["V-101"]` is an item by its tag; `plant.of("pumps")` lists a section in the file's order.
    """

    def __init__(self, site, sections, study=None):
        self.site, self.releases, self.lacks, self.study = site, None, "", study or {}
        for name in _OWN_TABLES:
            setattr(self, name, sections[name])
        self.items = {
            tag: item
            for name, items in sections.items()
            if name not in _OWN_TABLES
            for tag, item in items.items()
        }

    def __getitem__(self, tag):
        if tag not in self.items:
            raise InputError(f"tag '{tag}': not in the plant; it has {', '.join(self.items)}")
        return self.items[tag]

    def __repr__(self):
        return f"<plant '{self.site.name}': {len(self.items)} items, {len(self.streams)} streams>"

    def of(self, section):
        """Items of one section of the file, in its order; InputError for another section."""
        if section in _OWN_TABLES:
            return list(getattr(self, section).values())
        if section not in SECTIONS:
            raise InputError(f"section '{section}': use one of {', '.join(SECTIONS)}")
        return [item for item in self.items.values() if item.section == section]

    def into(self, tag):
        """Streams that end at a tag."""
        return [s for s in self.streams.values() if s.to == tag]

    def out_of(self, tag):
        """Streams that begin at a tag."""
        return [s for s in self.streams.values() if s.origin == tag]

    def protecting(self, tag):
        """Relief valves, rupture disks and tank vents that protect a tag."""
        return [i for i in self.items.values() if getattr(i, "protects", None) == tag]

    # What hangs on the site: everything that turns gauge into absolute asks the plant.

    @property
    def atmosphere(self):
        """Pressure of the site's air [Pa absolute]."""
        return self.site.atmosphere

    def absolute(self, pressure_gauge):
        """A gauge pressure at this site as Pa absolute."""
        return absolute(pressure_gauge, self.atmosphere)

    def gauge(self, pressure):
        """An absolute pressure at this site as Pa gauge."""
        return result(finite(pressure=pressure) - self.atmosphere)

    def mawp_gauge(self, tag):
        """MAWP of an item [Pa gauge]; the design pressure of a line, the cold side of an exchanger.

        Raises InputError for an item that has none.
        """
        item = self[tag]
        for name in ("mawp_gauge", "design_pressure_gauge", "cold_mawp_gauge"):
            if hasattr(item, name):
                return getattr(item, name)
        raise InputError(f"tag '{tag}': has no MAWP")

    def relieving_pressure(self, tag, *, fire=False, installation="single"):
        """Pressure at which the valves of an item must carry the load [Pa absolute].

        Parameters and source as `set_pressure.relieving_pressure`.
        """
        return set_pressure.relieving_pressure(
            self.mawp_gauge(tag), installation=installation, fire=fire, atmosphere=self.atmosphere
        )

    def device(self, tag):
        """The `Device` of a relief valve or rupture disk by its tag, at this site's atmosphere.

        A disk comes with Kd 0.62, which holds only straight into the air: see `lines.disk_line`.
        Raises InputError for another tag.
        """
        item = self[tag]
        if item.section == "rupture_disks":
            return Device("disk", item.burst_pressure_gauge, atmosphere=self.atmosphere)
        if item.section != "relief_valves":
            raise InputError(f"tag '{tag}': is no relief valve or rupture disk")
        return Device(item.kind, item.set_pressure_gauge, atmosphere=self.atmosphere)

    # What stands in a header: computed where its tree and what is released together are known.

    def with_releases(self, releases, lacks=""):
        """The same plant, knowing what is relieved together: its headers are computed by event.

        Parameters: releases, {event: {valve: `ReliefLoad`}}, or a function that gives it and is
        asked when it is first needed; lacks, words on events that are not among them, '' for none.
        Returns a `Plant`; this one stays as it is.
        """
        other = copy.copy(self)
        other.releases, other.lacks, other._solved = releases, lacks, {}
        return other

    def with_values(self, values):
        """The same plant with other values of some items, for a question 'what if'.

        Parameters: values, {(section, tag, key): value in SI, None for as it stands}; sections that
        hold no items to protect, such as streams and utilities. Returns a `Plant`; this one stays
        as it is, and what is relieved together is not known of the other one. Raises InputError for
        a section, tag or key that is not there.
        """
        other = self.with_releases(None)
        for (section, tag, key), value in values.items():
            part = getattr(other, section) if section in _OWN_TABLES else {}
            if not hasattr(part.get(tag), key):
                raise InputError(f"{section}.{tag}.{key}: not in the plant")
            if value is not None:
                item = Item(**vars(part[tag]) | {key: value})
                setattr(other, section, part | {tag: item})
        return other

    def faced(self, name, flow="adiabatic"):
        """Every valve of a header in every event, as `disposal.header.Faced`.

        None where the file gives the header no tree, or what is released together is not known, or
        none of it is gas: the pressures are then the typed ones.
        """
        if self.releases is None or plant_tree.stack_of(self, name) is None:
            return None
        if callable(self.releases):
            self.releases = self.releases()
        if (name, flow) not in self._solved:
            self._solved[name, flow] = plant_tree.faced(self, name, self.releases, flow)
        return self._solved[name, flow]

    def header_pressures(self, tag, event=None):
        """Lowest and highest pressure where a relief valve or disk discharges [Pa absolute].

        The highest is that of the worst event, or of one event, where the tree of its header and
        the releases are known; else it is the one typed in the file, and an event is refused.
        """
        item = self[tag]
        typed, found = self.headers[item.destination], self.faced(item.destination)
        low = self.absolute(typed.lowest_pressure_gauge)
        if found is None and event is not None:
            raise InputError(f"{tag}: the file gives {item.destination} one highest pressure, of "
                             f"no event: event '{event}' is not known")  # fmt: skip
        if found is None:
            return low, self.absolute(typed.highest_pressure_gauge)
        along = found.network.header_pressure(tag)
        high = along.max() if event is None else along[found.network.at(event)]
        return low, float(max(high, low))

    def back_pressure(self, tag, load):
        """Pressure against which a load is sized on a relief valve or disk [Pa absolute].

        The area grows with what stands behind the valve while it relieves: of a liquid and of gas
        that is not choked for every kind of valve, of any fluid once a balanced valve or its disk
        loses lift. So the highest counts: of the events that bring this very load, where the plant
        knows them, else of all. The lowest is for the questions of opening and of the spring's set.
        What the valve's own outlet line adds is not in it. Source: API 520-I (2020), 5.3.
        """
        own = header.bringing(self.facings(tag), load)
        if own:
            return max(facing.header_pressure for facing in own)
        return self.header_pressures(tag)[1]

    def worst_event(self, tag):
        """Event in which most pressure stands behind a relief valve or disk, in words.

        '' where it is not known: see `faced`.
        """
        found = self.faced(self[tag].destination)
        return "" if found is None else found.worst(tag) or ""

    def facings(self, tag):
        """What a relief valve or disk meets in every event in which it lifts, as `Facing`.

        Empty where it is not known: see `faced`. Liquid that stays liquid is none of it.
        """
        found = self.faced(self[tag].destination)
        return () if found is None else tuple(found.of(tag))


def demo_plant_path():
    """Path of the demo plant: in `data/` of this folder or one above, beside or in the package.

    Raises InputError where there is none.
    """
    here = Path.cwd()
    package = Path(__file__).resolve().parent
    for folder in (here, *here.parents, package.parent, package):
        path = folder / "data" / "demo_plant.toml"
        if path.is_file():
            return path
    raise InputError("data/demo_plant.toml is not in this folder or above it: give its path")


def load_plant(path: str | Path | None = None) -> Plant:
    """The plant that a TOML file describes, by default the demo plant.

    Parameters
    ----------
    path : str or Path, optional
        None for the demo plant.

    Returns
    -------
    Plant
        Every value in SI, pressures absolute unless the name ends in `_gauge`, converted with the
        site's atmosphere; the key `from` of a stream is called `origin`.

    Raises
    ------
    InputError
        Naming file, item and key for a missing or unknown key, a value without a unit or with a
        wrong one, a tag used twice or not in the plant.

    Notes
    -----
    The file format is ours.

    Examples
    --------
    >>> plant = load_plant()
    >>> plant["V-101"].mawp_gauge, plant["PSV-101"].protects
    (7200000.0, 'P-101')
    """
    path = demo_plant_path() if path is None else Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
        data = tomllib.loads(text)
    except OSError:
        raise InputError(f"{path.name}: can't be read") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(f"{path.name}: not a TOML file: {error}") from None
    try:
        return plant_of(data, path.name)
    except InputError as error:
        raise InputError(with_line(str(error), text, getattr(error, "keys", ()))) from None


def _flat(data, file):
    """The file's sections by name, those inside `disposal` as 'disposal.pipes'."""
    inside = data.get("disposal", {})
    if not isinstance(inside, dict) or not all(isinstance(part, dict) for part in inside.values()):
        raise InputError(f"{file}: disposal must hold tables: pipes, drums, stacks")
    rest = {name: part for name, part in data.items() if name != "disposal"}
    return rest | {f"disposal.{name}": part for name, part in inside.items()}


def plant_of(data, file, faults=None):
    """The plant that nested tables describe, as a TOML file gives them.

    Parameters: data; file, its name for messages; faults, None to refuse at the first fault, or a
    list that takes each as `InputError` with the `keys` that lead to it: what is wrong is then left
    out, and the rest read. Returns `Plant`. Raises InputError as `load_plant`; for the site always.
    """
    data = _flat(data, file)
    unknown = set(data) - set(SECTIONS) - {"site", *STUDY}
    for name in sorted(unknown):
        _fault(faults, InputError(f"{file}: section '{name}' is not known"), (name,))
    site = data.get("site", {})
    atmosphere = site.get("atmosphere", ATMOSPHERE) if isinstance(site, dict) else ATMOSPHERE
    if isinstance(atmosphere, str):
        atmosphere = read_value("atmosphere", atmosphere, f"{file}, site", ATMOSPHERE)
    site = _item("site", "site", site, _SITE, file, atmosphere)
    sections = {name: _section(data, name, file, atmosphere, faults) for name in SECTIONS}
    for keys, words in _wrong_tags(sections, file):
        _fault(faults, InputError(words), keys)
    plant = Plant(site, sections, {name: data[name] for name in STUDY if name in data})
    try:
        _check_disposal(plant, file)
    except InputError as error:
        _fault(faults, error, ("disposal",))
    return plant


def _fault(faults, error, keys):
    """Raise an error with the keys that lead to it, or keep it where faults are gathered."""
    error.keys = getattr(error, "keys", keys)
    if faults is None:
        raise error
    faults.append(error)


def _section(data, name, file, atmosphere, faults):
    found, path = {}, tuple(name.split("."))
    part = data.get(name, {})
    if not isinstance(part, dict):
        _fault(faults, InputError(f"{file}: {name} must hold tables"), path)
        return found
    for tag, values in part.items():
        try:
            found[tag] = _item(tag, name, values, SECTIONS[name], file, atmosphere)
        except InputError as error:
            _fault(faults, error, (*path, tag))
    return found


def _item(tag, section, values, keys, file, atmosphere):
    where = f"{file}, {section} {tag}" if tag != section else f"{file}, {tag}"
    if not isinstance(values, dict):
        raise InputError(f"{where}: must be a table of keys and values")
    required, _, optional = keys.partition("?")
    missing = [key for key in required.split() if key not in values]
    if missing:
        raise InputError(f"{where}: {', '.join(missing)} is missing")
    unknown = set(values) - set(required.split()) - set(optional.split())
    if unknown:
        raise InputError(f"{where}: key '{min(unknown)}' is not known here")
    read = {}
    for key, value in values.items():
        try:
            read[key] = read_value(key, value, where, atmosphere)
        except InputError as error:
            error.keys = (*section.split("."), *([] if tag == section else [tag]), key)
            raise
    if "from" in read:
        read["origin"] = read.pop("from")
    if section == "streams":
        read["mass_flow"] = sum(read[name] for name in COMPONENTS)
    return Item(tag=tag, section=section, **read)


def read_value(key, value, where, atmosphere=ATMOSPHERE):
    """What a file says of a key, in SI: '12.5 barg', 0.72, a name, or a list of them.

    Parameters: key, of the table of symbols or of a plant file; value, as written; where, words
    for a message; atmosphere [Pa]. Returns float, str or list. Raises InputError in words.
    """
    kind = KIND[key]
    if kind == "parts" and isinstance(value, dict):
        return _table(key, value, where, atmosphere)
    if isinstance(value, list):
        return [read_value(key, one, where, atmosphere) for one in value]
    if kind in ("yes or no", "whole number"):
        if type(value) is not (bool if kind == "yes or no" else int):
            words = "true or false" if kind == "yes or no" else "a whole number"
            raise InputError(f"{where}: {key} = {value!r}: must be {words}")
        return value
    if kind == "parts":
        raise InputError(f"{where}: {key} = {value!r}: must be a list of tables")
    if kind in ("number", "dimensionless"):
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(f"{where}: {key} = {value!r}: must be a number without a unit")
        return value
    if not isinstance(value, str):
        raise InputError(f"{where}: {key} = {value!r}: write it as text, a quantity with its unit")
    return value if kind == "text" else _quantity(key, value, kind, where, atmosphere)


def _table(key, values, where, atmosphere):
    """A part of a way: a table inside a list, its values in SI."""
    unknown = [name for name in values if name not in KIND]
    if unknown:
        raise InputError(f"{where}, {key}: key '{unknown[0]}' is not known here")
    return {name: read_value(name, value, where, atmosphere) for name, value in values.items()}


_NUMBER_AND_UNIT = re.compile(  # thousands may stand apart: '17 000 kg/h'
    r"\s*([-+]?(?:\d{1,3}(?:\s\d{3})+|\d+)(?:\.\d+)?(?:[eE][-+]?\d+)?)\s+(\S.*?)\s*"
)


def _quantity(key, text, kind, where, atmosphere):
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if not match:
        comma = ", with a decimal point and no comma" if "," in text else ""
        raise InputError(f"{where}: {key} = '{text}': write a number, a space and a unit{comma}")
    number, unit = float(re.sub(r"\s", "", match.group(1))), match.group(2)
    try:
        return to_si(number, unit, kind, atmosphere)
    except InputError as error:
        raise InputError(f"{where}: {key} = '{text}': {error}") from None


def _check_disposal(plant, file):
    """Refuse a header's tree that is none, a fire zone or an event that names what is no item."""
    try:
        stacks = [s.tag for s in plant.of("disposal.stacks")]
        leads = {i.tag: getattr(i, "to", None) for s in plant_tree.ELEMENTS for i in plant.of(s)}
        header.check_ends(leads, stacks, "disposal")
        for name in plant.headers:
            plant_tree.tree(plant, name)
    except InputError as problem:
        raise InputError(f"{file}: {problem}") from None
    for stack in plant.of("disposal.stacks"):
        _check_seal(stack, plant.headers[stack.header], file)
    for zone in plant.fire_zones.values():
        stray = [tag for tag in zone.items if tag not in plant.items]
        if stray:
            raise InputError(f"{file}, fire_zones {zone.tag}: '{stray[0]}' is not in the file")
    for event in plant.events.values():
        stray = [t for t in event.lift if not hasattr(plant.items.get(t), "destination")]
        if stray:
            raise InputError(f"{file}, events {event.tag}: '{stray[0]}' is no relief device of it")


def _check_seal(stack, ends, file):
    """Refuse a seal that is deeper than the lowest pressure of its header says."""
    if not hasattr(stack, "seal_depth"):
        return
    if not hasattr(stack, "seal_density"):
        raise InputError(f"{file}, {stack.tag}: seal_depth needs seal_density")
    stands = stack.seal_density * GRAVITY * stack.seal_depth
    if stands > 1.01 * ends.lowest_pressure_gauge:
        raise InputError(f"{file}, {stack.tag}: its seal holds {stands / 1e5:.3g} barg, more than "
                         f"the lowest pressure of {ends.tag}")  # fmt: skip


_REFERENCES = {
    "fluid": "fluids", "hot_fluid": "fluids", "cold_fluid": "fluids", "destination": "headers",
    "header": "headers", "vents_to": "headers",
    "upstream_class": "pipe_classes", "downstream_class": "pipe_classes",
    "pipe_class": "pipe_classes",
}  # fmt: skip
_TAG_KEYS = (
    "origin to pump suction discharge upstream downstream protects host condenser reboiler"
    " drain_source device"
)


def _wrong_tags(sections, file):
    """Take out what has a tag that is used twice, or points to nothing; yields (keys, words)."""
    tags = set()
    for name, part in sections.items():
        for tag in [] if name in _OWN_TABLES else list(part):
            if tag in tags:
                del part[tag]
                yield (*name.split("."), tag), f"{file}: tag '{tag}' is used twice"
            tags.add(tag)
    while wrong := list(_dangling(sections, file)):
        for name, tag, key, words in wrong:
            sections[name].pop(tag, None)
            yield (*name.split("."), tag, key), words


def _dangling(sections, file):
    """Items that point to nothing: (section, tag, key, words)."""
    known = {tag for name, p in sections.items() if name not in _OWN_TABLES for tag in p}
    known |= {*sections["utilities"], "battery limit"}
    targets = {key: set(sections[part]) for key, part in _REFERENCES.items()}
    targets |= dict.fromkeys(_TAG_KEYS.split(), known)
    for name, part in sections.items():
        for tag, item in part.items():
            for key, allowed in targets.items():
                value = getattr(item, key, None)
                if value is not None and value not in allowed:
                    key = "from" if key == "origin" else key
                    words = (
                        f"{file}, {name} {tag}: {key} = '{value}' is not in the file, or not read"
                    )
                    yield name, tag, key, words
                    break
    for tag, item in sections["headers"].items():
        takes = getattr(item, "takes", [])
        if not isinstance(takes, list) or set(takes) - set(TAKES):
            words = f"{file}, headers {tag}: takes = {takes!r}: a list of {', '.join(TAKES)}"
            yield "headers", tag, "takes", words
