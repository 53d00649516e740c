"""What notebooks need on the page; the names of `_DOOR` are what a notebook imports.

>>> from relieflib.notebook import quantity
>>> quantity("temperature", 350.0, 250.0, 600.0).text()
'76.85 °C'
"""

import importlib

from relieflib import lazily

# Name -> its module, which loads when the name is first asked for.
_DOOR = {
    "Panel": "panel",
    "quantity": "controls",
    "choice": "controls",
    "switch": "controls",
    "shown": "panel",
    "IN_VIEW": "areas",
    "area_panel": "areas",
    "gas_controls": "areas",
    "figures": "areas",
    "ladder": "areas",
    "in_time": "time_chart",
    "in_time_row": "time_chart",
    "disk_picture": "time_chart",
    "cooling_picture": "time_chart",
    "read_off": "areas",
    "ask": "question_form",
    "warm_up": "question_form",
    "sign_in": "question_form",
    "OwnNumbers": "own_numbers",
    "StudyForm": "study_form",
    "PlaceForm": "place_form",
    "own_panel": "own_case",
    "OF_LIQUID": "own_case",
    "as_case": "own_case",
    "told": "own_case",
    "own_gas_controls": "own_case",
    "own_fluid_controls": "own_case",
    "own_liquid_controls": "own_case",
    "own_result": "own_case",
    "other_row": "own_case",
    "line_rows": "own_case",
    "stream_of": "own_case",
    "liquid_of": "own_case",
    "valve_controls": "own_case",
    "gas_of": "own_case",
    "source_of": "own_case",
    "relieving": "own_case",
    "named": "own_case",
    "boiling_vapor": "own_case",
    "boiling_control": "own_case",
    "pure": "own_case",
    "typed": "controls",
    "equipment_sketch": "sketch",
    "cause_sketch": "cause_sketches",
    "heat_sketch": "heat_sketches",
}
__all__ = [*_DOOR]
_room, _rooms = lazily(__name__, __path__)


def __getattr__(name):
    if name not in _DOOR:
        return _room(name)
    thing = getattr(importlib.import_module(f"{__name__}.{_DOOR[name]}"), name)
    globals()[name] = thing
    return thing


def __dir__():
    return sorted({*globals(), *_DOOR, *_rooms()})


importlib.import_module(f"{__name__}.without").go_on_in_words()
importlib.import_module(f"{__name__}.spoken").tell_pictures()
