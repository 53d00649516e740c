"""Areas and volumes of vessels against the general library fluids and closed forms."""

import fluids.geometry
import numpy as np
import pytest

from relieflib.errors import InputError
from relieflib.geometry import HEADS, Vessel

# fluids.geometry.TANK: name of its head, and its parameters for a diameter of 2.5 m
THEIRS = {
    "2:1 ellipsoidal": ("ellipsoidal", {"a": 0.625}), "hemispherical": ("spherical", {"a": 1.25}),
    "torispherical": ("torispherical", {"f": 1.0, "k": 0.06}), "flat": (None, {}),
}  # fmt: skip


def theirs(orientation, head, D=2.5, L=8.0, extra=None):
    name, values = THEIRS[head]
    values = {f"side{s}_{k}": v for s in "AB" for k, v in (extra or values).items()}
    return fluids.geometry.TANK(D=D, L=L, horizontal=orientation == "horizontal", sideA=name,
                                sideB=name, **values)  # fmt: skip


@pytest.mark.parametrize("head", HEADS)
@pytest.mark.parametrize("orientation", ["horizontal", "vertical"])
def test_any_level(orientation, head):
    # fluids.geometry, closed forms and its own integrals; a flat vertical tank counts its dry
    # floor there only when it is wet, so levels start above the floor
    ours, tank = Vessel(orientation, 2.5, length=8.0, head_type=head), theirs(orientation, head)
    levels = np.linspace(ours.bottom, ours.top, 41)[1:-1]
    heights = levels - ours.bottom
    areas, volumes = ours.wetted_area(levels), ours.volume_of(levels)
    np.testing.assert_allclose(volumes, [tank.V_from_h(h) for h in heights], rtol=1e-9)
    np.testing.assert_allclose(areas, [tank.SA_from_h(h) for h in heights], rtol=2e-8)
    assert ours.volume == pytest.approx(tank.V_total, rel=1e-12)
    assert ours.area == pytest.approx(tank.A, rel=1e-12)


@pytest.mark.parametrize("orientation", ["horizontal", "vertical"])
def test_other_dish(orientation):
    # a dish of crown 0.8 D, knuckle 0.15 D
    ours = Vessel(orientation, 2.5, length=8.0, head_type="torispherical", crown=0.8, knuckle=0.15)
    tank = theirs(orientation, "torispherical", extra={"f": 0.8, "k": 0.15})
    level = ours.bottom + 0.4
    assert ours.wetted_area(level) == pytest.approx(tank.SA_from_h(0.4), rel=1e-8)
    assert ours.volume_of(level) == pytest.approx(tank.V_from_h(0.4), rel=1e-9)
    assert ours.head_depth == pytest.approx(tank.sideA_a, rel=1e-12)


def test_printed_values():
    # 2:1 head: textbook 1.084 D2, closed form 1.08399; drum 2.5 x 8 m by closed form and surface
    # integral: shell and both heads at four levels
    head = Vessel("vertical", 1.0, length=1.0, head_type="2:1 ellipsoidal")
    assert head.wetted_area(0.0) == pytest.approx(1.08399, abs=5e-6)
    drum = Vessel("horizontal", 2.5, length=8.0, head_type="2:1 ellipsoidal")
    total = drum.wetted_area(np.array([0.5, 1.25, 2.0, 2.5]))
    assert total == pytest.approx([20.936, 38.191, 55.445, 76.382], abs=5e-4)
    shell = 2.5 * 8.0 * np.arccos(1 - 2 * 0.5 / 2.5)
    assert shell == pytest.approx(18.546, abs=5e-4)


def test_sphere():
    # closed forms: zone 2 pi R h, segment pi h2 (3R - h)/3
    ball = Vessel("spherical", 10.0)
    assert ball.wetted_area(3.0) == pytest.approx(2 * np.pi * 5 * 3)
    assert ball.volume_of(3.0) == pytest.approx(np.pi * 9 * (15 - 3) / 3)
    assert ball.area == pytest.approx(np.pi * 100) and ball.volume == pytest.approx(np.pi * 1e3 / 6)
    assert (ball.bottom, ball.top, ball.head_depth) == (0.0, 10.0, 0.0)


def test_flat_ends():
    # cylinder by hand: floor counts from the first drop, the roof only when full
    tank = Vessel("vertical", 2.0, length=5.0, head_type="flat")
    assert tank.wetted_area(0.0) == pytest.approx(np.pi)
    assert tank.wetted_area(4.0) == pytest.approx(np.pi * (1 + 8))
    assert tank.area == pytest.approx(np.pi * (1 + 10 + 1))
    assert (tank.bottom, tank.top) == (0.0, 5.0)


@pytest.mark.parametrize("head", HEADS)
@pytest.mark.parametrize("orientation", ["horizontal", "vertical"])
def test_level_of_volume(orientation, head):
    vessel = Vessel(orientation, 1.3, length=4.0, head_type=head)
    levels = np.linspace(vessel.bottom, vessel.top, 9)
    np.testing.assert_allclose(vessel.level_of(vessel.volume_of(levels)), levels, atol=1e-7)


def test_arrays_and_nan():
    levels = np.array([0.2, np.nan, 1.1])
    for vessel in (Vessel("horizontal", 2.0, length=3.0, head_type="torispherical"),
                   Vessel("spherical", 2.0),
                   Vessel("vertical", 2.0, length=3.0, head_type="2:1 ellipsoidal")):  # fmt: skip
        areas = vessel.wetted_area(levels)
        assert np.isnan(areas[1]) and areas[2] == vessel.wetted_area(1.1)
        assert isinstance(vessel.wetted_area(1.1), float)
        assert np.isnan(vessel.level_of(np.nan))
    many = Vessel("horizontal", np.array([2.0, 3.0]), length=4.0, head_type="flat")
    assert many.volume == pytest.approx(np.pi * np.array([4.0, 9.0]) / 4 * 4)


@pytest.mark.parametrize("make", [
    lambda: Vessel("slanted", 1.0, length=1.0, head_type="flat"),
    lambda: Vessel("vertical", 0.0, length=1.0, head_type="flat"),
    lambda: Vessel("vertical", 1.0, length=None, head_type="flat"),
    lambda: Vessel("vertical", 1.0, length=1.0, head_type="pointed"),
    lambda: Vessel("spherical", 1.0, length=1.0),
    lambda: Vessel("vertical", 1.0, length=1.0, head_type="flat", crown=1.0),
    lambda: Vessel("vertical", 1.0, length=1.0, head_type="torispherical", crown=0.4),
    lambda: Vessel("vertical", 1.0, length=1.0, head_type="torispherical", crown=1.0, knuckle=0.5),
    lambda: Vessel("vertical", 1.0, length=1.0, head_type="torispherical", crown=1.0,
                   knuckle=0.503),
    lambda: Vessel("vertical", 1.0, length=1.0, head_type="flat").wetted_area(1.1),
    lambda: Vessel("vertical", 1.0, length=1.0, head_type="flat").wetted_area(-0.1),
    lambda: Vessel("vertical", 1.0, length=1.0, head_type="flat").level_of(9.0),
])  # fmt: skip
def test_impossible(make):
    with pytest.raises(InputError):
        make()


def test_edge_radii():
    assert (
        Vessel(
            "vertical", 1.0, length=1.0, head_type="torispherical", crown=0.502, knuckle=0.497
        ).volume
        > 0
    )
    with pytest.raises(InputError):
        Vessel("vertical", 1.0, length=1.0, head_type="torispherical", crown=0.498, knuckle=0.2)
