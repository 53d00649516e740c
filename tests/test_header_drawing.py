"""The drawn tree: places without crossings, classes of speed, words beside each valve."""

from relieflib.devices import Device
from relieflib.disposal import header
from relieflib.disposal.header import Mounted, Pipe, Tree
from relieflib.lines.line import Line, Part
from relieflib.notebook import header_drawing as drawing
from relieflib.nozzle.gas import Gas
from relieflib.report import figures
from relieflib.sizing import ReliefLoad

PIPES = {"H": (None, 0.3, 5.0), "S": ("H", 0.25, 6.0), "A": ("S", 0.1, 4.0), "B": ("S", 0.1, 4.0),
         "C": ("H", 0.15, 4.0)}  # fmt: skip
TREE = Tree(
    [Pipe(t, to, Line([Part("other", D, K=N)])) for t, (to, D, N) in PIPES.items()],
    {v: v for v in "ABC"},
    1.2e5,
)


def faced():
    loads = {"A": 3.0, "C": 6.0}
    loads = {v: ReliefLoad("x", W, Gas(12e5, 320.0, molar_mass=30.0, k=1.2))
             for v, W in loads.items()}  # fmt: skip
    kinds = {"A": "conventional", "B": "balanced", "C": "balanced"}
    mounted = {v: Mounted(Device(kind, 10e5), "3L4", 10e5) for v, kind in kinds.items()}
    return header.face(TREE, mounted, {"one": loads}, 101325.0)


def test_places():
    at = drawing.places(TREE)
    assert {at[v][0][0] for v in "ABC"} == {0.0}, "valves stand in one column"
    assert len({at[v][0][1] for v in "ABC"}) == 3
    assert at["A"][0][1] > at["S"][0][1] > at["B"][0][1], "a pipe between those that feed it"
    for tag, (to, _, _) in PIPES.items():
        if to:
            assert at[tag][1] == at[to][0], "each pipe ends where the next begins"


def test_classes_of_speed_are_told_by_style_too():
    assert drawing.mach_class(0.9, 0.0) is None
    assert [drawing.mach_class(x, 1.0) for x in (0.1, 0.3, 0.6, 1.0)] == [0, 1, 2, 3]
    assert len({row[1] for row in drawing.CLASSES}) == len({str(row[3]) for row in drawing.CLASSES})


def test_artists_move_and_say_what_they_show():
    result = {"faced": faced(), "event": "one", "atmosphere": 101325.0, "mach_limit": 0.3}
    figure = figures.new_figure()
    artists = drawing.build_tree(figure, result)
    count = len(figure.axes[0].lines)
    words = drawing.update_tree(artists, result)
    assert len(figure.axes[0].lines) == count, "update adds no artist"
    net = result["faced"].network
    assert artists["lines"]["B"].get_color() == drawing.GREY  # nothing flows there
    for tag in "HSAC":
        kind = drawing.mach_class(net.mach[tag][0], 1.0)
        assert artists["lines"][tag].get_color() == drawing.CLASSES[kind][1]
    assert artists["valves"]["B"].get_text() == "B, shut"
    assert " of 0.987 bar, late" in artists["valves"]["A"].get_text()  # 12 bara - air - 10
    assert "of 5 bar" in artists["valves"]["C"].get_text()  # balanced: half of set
    assert words.startswith("Tree of the flare header in the event one.") and "A " in words
    assert f"{(net.inlet_pressure['H'][0] - 101325) / 1e5:.3g} barg" in words
    assert "psig" in drawing.update_tree(artists, result, "US")
